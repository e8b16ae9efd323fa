"""Keep a find of a walk, take one out again, and say whether the list is complete."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from uuid import UUID

from curriculum.models import Taxon
from foraywright.floor.acts import act, record
from foraywright.floor.models import User
from walks.compute.blurring import Blurred, blurred
from walks.errors import FindNotKept
from walks.finds import DEFAULT_BLUR_M, middle_of
from walks.models import Find, FindList, Site, Walk

EARLY = timedelta(hours=2)


@dataclass(frozen=True, slots=True)
class Found:
    """One find as it was entered. `place`: WGS84 degrees; without it the middle of the ground stands for it."""

    event: UUID
    taxon: Taxon | None
    words: str = ""
    count: int | None = None
    stage: str = ""
    host: str = ""
    place: tuple[float, float] | None = None
    blur_m: int = DEFAULT_BLUR_M


@act
def keep_find(walk: Walk, found: Found, *, by: User, now: datetime) -> Find:
    """Keep `found`, its place blurred before it is written anywhere. The same event again is the same find.

    Raises FindNotKept. The walk is locked: two phones that open its list at once would otherwise make two.
    """
    walk = Walk.objects.select_for_update(of=("self",)).select_related("site", "offering").get(pk=walk.pk)
    _refuse_too_early(walk, now=now)
    known = Find.objects.filter(event=found.event).first()
    if known is not None:
        return known
    if found.taxon is None and not found.words.strip():
        raise FindNotKept("A find needs a species, or words for what was seen.", field="taxon")
    if found.count is not None and found.count < 1:
        raise FindNotKept(
            "A find is of one or more: that there was none of a species follows from a complete list.", field="count"
        )
    where = place_of(walk.site, found)
    find = Find.objects.create(
        event=found.event,
        list=FindList.objects.get_or_create(walk=walk)[0],
        taxon=found.taxon,
        words="" if found.taxon else found.words.strip(),
        count=found.count,
        stage=found.stage,
        host=found.host,
        latitude=Decimal(f"{where.latitude:.6f}"),
        longitude=Decimal(f"{where.longitude:.6f}"),
        uncertainty_m=where.uncertainty_m,
        by=by,
        added_at=now,
    )
    record("keep find", walk.offering, by=by, now=now, fields=("finds",), reason=f"session {walk.number}")
    return find


def place_of(site: Site, found: Found) -> Blurred:
    """Where the find is said to be: the ground's middle is no place of a find, so its uncertainty reaches further."""
    if found.place is not None:
        return blurred(*found.place, found.blur_m)
    return middle_of(site, found.blur_m)


def _refuse_too_early(walk: Walk, *, now: datetime) -> None:
    if walk.called_off_at is not None or now < walk.starts_at - EARLY:
        raise FindNotKept(
            "Finds are kept from two hours before a walk on, of a walk that was not called off.",
            became="Nothing was kept.",
        )


@act
def remove_find(find: Find, *, by: User, now: datetime) -> None:
    """Take a find out that was entered by mistake."""
    record("remove find", find.list.walk.offering, by=by, now=now, fields=("finds",))
    find.delete()


@act
def keep_effort(
    walk: Walk, *, complete: bool, minutes: int | None, people: int | None, by: User, now: datetime
) -> FindList:
    """Say whether the list of `walk` is complete, and with what effort. Raises FindNotKept."""
    walk = Walk.objects.select_for_update(of=("self",)).select_related("offering").get(pk=walk.pk)
    _refuse_too_early(walk, now=now)
    if complete and not (minutes and people):
        raise FindNotKept(
            "A complete list needs how long was looked, and by how many: silence is news only then.",
            became="The list stays as it was.",
            field="minutes",
        )
    effort = {"complete": complete, "minutes": minutes, "people": people}
    kept, _ = FindList.objects.update_or_create(walk=walk, defaults=effort)
    record("keep effort of finds", walk.offering, by=by, now=now, fields=("complete", "minutes", "people"))
    return kept
