"""Add a site or change one. Its words must be the vocabulary's: a misspelt habitat would silently drop species."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from datetime import datetime
from decimal import Decimal
from typing import Any
from zoneinfo import available_timezones

from django.db.models import F

from curriculum.compute.problems import nearest
from curriculum.queries import vocabulary
from foraywright.floor.acts import By, act, record
from foraywright.floor.models import User
from foraywright.floor.numbering import bump_feed
from walks.assessments import hazard_library
from walks.compute.grid_reference import Reference, parse_reference
from walks.compute.map_squares import ReferenceRefused
from walks.errors import SiteNotSaved
from walks.models import Offering, Site, Walk, WalkChange
from walks.services.publish_walk import FEED

PUT_RIGHT = "We have put the record of the meeting place right."


@act
def save_site(
    facts: Mapping[str, Any],
    *,
    reference: str,
    ground: str = "",
    site: Site | None = None,
    why: str = "",
    by: By,
    now: datetime,
) -> Site:
    """Add the site that `facts` (fields of Site) describe, or change `site`. Raises SiteNotSaved with every fault.

    `reference` is the public meeting point and `ground` the exact ground, as a person would type them; without `ground`
    it is taken to lie at the meeting point. Where published walks would meet elsewhere, each gets a row that tells of
    it, with `why`. The site's row is locked: two who edit at once would otherwise tell people two places.
    """
    saved = Site.objects.select_for_update().get(pk=site.pk) if site else Site()
    before = _place_words(saved)
    faults = [*_strange_words(facts)]
    places = _places(reference, ground, faults)
    if faults:
        raise SiteNotSaved(
            f"The site “{facts.get('name', '')}” was not saved.",
            why=faults,
            became="Nothing was changed." if site else "Nothing was saved.",
            now="Put these right and save it again.",
        )
    for field, value in {**facts, **places}.items():
        setattr(saved, field, value)
    saved.save()
    record("change site" if site else "add site", saved, by=by, now=now, fields=tuple(facts))
    if site:
        _tell(saved, before, why=why or PUT_RIGHT, by=by, now=now)
    return saved


def _strange_words(facts: Mapping[str, Any]) -> Iterator[str]:
    characters = vocabulary().characters
    yield from _strange("habitat", facts.get("habitats", ()), characters["habitat"].states)
    yield from _strange("host tree", facts.get("host_trees", ()), characters["host"].states)
    yield from _strange("hazard", facts.get("hazards", ()), hazard_library().facts["site_hazards"].words)
    if "zone" in facts:
        yield from _strange("time zone", [facts["zone"]], available_timezones())


def _strange(what: str, words: Iterable[str], known: Collection[str]) -> Iterator[str]:
    for word in words:
        if word not in known:
            yield f"“{word}” is no {what} that we know: {nearest(word, known)}."


def _places(reference: str, ground: str, faults: list[str]) -> dict[str, Any]:
    meeting = _place(reference, faults)
    middle = _place(ground, faults) if ground else None
    if meeting is None:
        return {}
    return _columns("", "reference", meeting) | (
        _columns("ground_", "ground", middle) if middle else _unmapped(meeting)
    )


def _place(reference: str, faults: list[str]) -> Reference | None:
    try:
        return parse_reference(reference)
    except ReferenceRefused as refused:
        faults.append(str(refused))
        return None


def _columns(position: str, typed: str, place: Reference) -> dict[str, Any]:
    return {
        f"{typed}_as_typed": place.as_typed,
        f"{typed}_datum": place.datum,
        f"{typed}_precision_m": place.precision_m,
        f"{position}latitude": _six_places(place.latitude),
        f"{position}longitude": _six_places(place.longitude),
    }


def _unmapped(meeting: Reference) -> dict[str, Any]:
    at = {"ground_latitude": _six_places(meeting.latitude), "ground_longitude": _six_places(meeting.longitude)}
    return {"ground_as_typed": "", "ground_datum": "", "ground_precision_m": None} | at


def _six_places(degrees: float) -> Decimal:
    return Decimal(f"{degrees:.6f}")


def _place_words(site: Site) -> str:
    return f"{site.name}, {site.meeting_point}, {site.reference_as_typed}"


def _tell(site: Site, before: str, *, why: str, by: By, now: datetime) -> None:
    """Walks to come carry what the site says in the calendar; a place that is another one is told to who booked."""
    coming = Walk.objects.filter(site=site, starts_at__gt=now, called_off_at=None)
    elsewhere = _place_words(site) != before
    raised = {"calendar_sequence": F("calendar_sequence") + 1} if elsewhere else {}
    coming.update(calendar_modified=now, **raised)
    bump_feed(FEED, now=now)
    if elsewhere:
        for walk in coming.filter(offering__state=Offering.State.PUBLISHED):
            _write_change(walk, before, _place_words(site), why=why, by=by, now=now)


def _write_change(walk: Walk, before: str, after: str, *, why: str, by: By, now: datetime) -> None:
    WalkChange.objects.create(
        walk=walk,
        at=now,
        by=by.public_id if isinstance(by, User) else by,
        why=why,
        what=[{"field": "place", "label": "Place", "before": before, "after": after}],
        material=True,
        due_at=now,
    )
