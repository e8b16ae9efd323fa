"""Own finds as the season model and the export read them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from uuid import UUID, uuid5

from django.db.models import Count, Max, Min, Prefetch

from curriculum.compute.account import Account
from curriculum.compute.phenology import FindList as Noted
from curriculum.models import Taxon
from curriculum.queries import AccountInUse, vocabulary
from foraywright.floor.models import Business
from walks.compute.blurring import Blurred, blurred
from walks.compute.darwin_core import ABSENT, PRESENT, Occurrence, sampling_effort
from walks.models import Find, FindList, Site, Walk
from walks.queries import expectation_of, wanted_by

KINGDOMS: dict[str, str] = {Taxon.Group.FUNGUS: "Fungi", Taxon.Group.PLANT: "Plantae"}
"""Seaweeds are of several kingdoms, so theirs stays empty."""

DEFAULT_BLUR_M = 1000
GROUND_REACHES_M = 1000
"""How far from the middle of a ground a find of it may lie. Our rule: sites have no edge here."""

ABSENCES = UUID("6f1f0d1e-7c0b-4f0e-9a55-3b8f6f2d9c11")


def noted_before(walk: Walk) -> list[Noted]:
    """The lists of earlier walks on the same ground, for the season model. Two queries."""
    lists = FindList.objects.filter(
        walk__site=walk.site_id, walk__starts_at__lt=walk.starts_at, walk__called_off_at=None
    )
    found = Prefetch("finds", Find.objects.filter(taxon__isnull=False).select_related("taxon"))
    return [
        Noted(one.walk.local_date, frozenset(find.taxon.key for find in one.finds.all() if find.taxon), one.complete)
        for one in lists.select_related("walk").prefetch_related(found)
    ]


def likely_first(walk: Walk, accounts: Mapping[str, AccountInUse]) -> list[AccountInUse]:
    """What the walk may meet first, and then everything, each by name."""
    expected = expectation_of(walk, accounts)
    likely = {one.account.taxon for one in expected.taught} | {one.taxon for one in expected.dangers}
    return sorted(accounts.values(), key=lambda one: (one.taxon.key not in likely, one.account.vernacular("en")))


@dataclass(frozen=True, slots=True)
class OwnFinds:
    """On how many walks of the business something was found, of how many with a list; days on the sites' calendars."""

    walks: int
    lists: int
    first_list: date | None
    last_found: date | None


def own_finds(taxon_key: str) -> OwnFinds:
    """What our own lists say of the taxon with this key. Two queries."""
    day = "list__walk__local_date"
    found = Find.objects.filter(taxon__key=taxon_key).aggregate(walks=Count("list", distinct=True), last=Max(day))
    lists = FindList.objects.aggregate(number=Count("pk"), first=Min("walk__local_date"))
    return OwnFinds(found["walks"], lists["number"], lists["first"], found["last"])


def occurrences(accounts: Mapping[str, AccountInUse]) -> Iterator[Occurrence]:
    """All identified finds, and for complete lists what they looked for in vain. Five queries.

    What was found before a walk was called off was there all the same; what was not, nobody looked for to the end.
    """
    business = Business.objects.get()
    finds = Prefetch("finds", Find.objects.filter(taxon__isnull=False).select_related("taxon"))
    with_walks = FindList.objects.select_related("walk__site", "walk__offering__theme", "walk__theme")
    lists = list(with_walks.prefetch_related(finds).order_by("walk__starts_at", "pk"))
    wanted = wanted_by([one.walk for one in lists])
    for one in lists:
        yield from _present(one, accounts, business)
        if _to_the_end(one):
            yield from _absent(one, wanted[one.walk_id], accounts, business)


def middle_of(site: Site, blur_m: int = DEFAULT_BLUR_M) -> Blurred:
    """The middle of the ground, blurred: no place of a find, so the uncertainty reaches over the ground."""
    middle = blurred(float(site.ground_latitude), float(site.ground_longitude), max(blur_m, DEFAULT_BLUR_M))
    return Blurred(middle.latitude, middle.longitude, middle.uncertainty_m + GROUND_REACHES_M)


def _to_the_end(of: FindList) -> bool:
    return of.complete and of.walk.called_off_at is None


def _days(walk: Walk) -> str:
    """The day on the site's calendar; over midnight from start to end, since nobody noted when a find was made."""
    first, last = walk.local_start, walk.local_end
    if first.date() == last.date():
        return first.date().isoformat()
    return "/".join(one.isoformat(timespec="minutes") for one in (first, last))


def _common(of: FindList, account: Account, business: Business) -> dict[str, str]:
    name = next(one for one in account.names if one.kind == "accepted")
    return {
        "eventID": of.walk.public_id,
        "eventDate": _days(of.walk),
        "samplingProtocol": "walk, complete list of the species taught" if _to_the_end(of) else "walk, casual list",
        "samplingEffort": sampling_effort(of.minutes, of.people),
        "scientificName": name.name,
        "scientificNameAuthorship": name.authority,
        "vernacularName": account.vernacular("en"),
        "kingdom": KINGDOMS.get(account.group, ""),
        "dataGeneralizations": "places are blurred to the stated uncertainty",
        "countryCode": business.jurisdiction[:2],
        "recordedBy": business.name,
    }


def _present(of: FindList, accounts: Mapping[str, AccountInUse], business: Business) -> Iterator[Occurrence]:
    for find in of.finds.all():
        if find.taxon and find.taxon.key in accounts:
            account = accounts[find.taxon.key].account
            yield Occurrence(
                **_common(of, account, business),
                occurrenceID=find.event.urn,
                occurrenceStatus=PRESENT,
                decimalLatitude=str(find.latitude),
                decimalLongitude=str(find.longitude),
                coordinateUncertaintyInMeters=str(find.uncertainty_m),
                organismQuantity="" if find.count is None else str(find.count),
                organismQuantityType="" if find.count is None else "individuals or clusters",
                lifeStage=find.stage,
                associatedTaxa=f"host: {host_label(find.host)}" if find.host else "",
            )


def _absent(
    of: FindList, wanted: list[str], accounts: Mapping[str, AccountInUse], business: Business
) -> Iterator[Occurrence]:
    found = {find.taxon.key for find in of.finds.all() if find.taxon}
    where = middle_of(of.walk.site)
    for key in wanted:
        if key in accounts and key not in found:
            yield Occurrence(
                **_common(of, accounts[key].account, business),
                occurrenceID=uuid5(ABSENCES, f"{of.walk.public_id} {key}").urn,
                occurrenceStatus=ABSENT,
                decimalLatitude=f"{where.latitude:.6f}",
                decimalLongitude=f"{where.longitude:.6f}",
                coordinateUncertaintyInMeters=str(where.uncertainty_m),
            )


def host_label(key: str) -> str:
    """The host in words; the key itself where the vocabulary no longer has it."""
    state = vocabulary().characters["host"].states.get(key)
    return state.label if state else key
