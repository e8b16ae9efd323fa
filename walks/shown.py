"""What pages show of an offering: its dated walks in local time, who leads, how full it is, what is in season."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from curriculum.compute.expected import Ground, expectation
from curriculum.queries import AccountInUse, vocabulary
from walks.compute.occupancy import occupancy, tightest
from walks.models import GuideCertificate, Offering, Walk, WalkGuide
from walks.queries import WalkLimits, limits_of, wanted_by

NAMED_IN_SEASON = 3
FIRST_AIDERS = {1: "a first-aider", 2: "both first-aiders"}


@dataclass(frozen=True, slots=True)
class DatedWalk:
    """One walk with its times in the site's zone. `left`: places left as the programme shows them, 0 or more."""

    walk: Walk
    start: datetime
    end: datetime
    guides: tuple[str, ...]
    left: int


@dataclass(frozen=True, slots=True)
class Listed:
    """An offering as a list shows it. `state`: open, few, full, called_off or draft; `price`: what an adult pays."""

    offering: Offering
    slug: str
    dates: tuple[DatedWalk, ...]
    next: DatedWalk
    state: str
    left: int
    price: int
    currency: str
    in_season: tuple[str, ...]


def dated(walk: Walk, limits: WalkLimits) -> DatedWalk:
    """`walk` in local time. No query where site and guides are prefetched."""
    zone = walk.clock
    binding = tightest(limits.policy, limits.caps, limits.staff, walk.places_taken_shown)
    guides = tuple(one.key for one in limits.staff)
    return DatedWalk(
        walk, walk.starts_at.astimezone(zone), walk.ends_at.astimezone(zone), guides, max(0, binding.slack)
    )


def listed(
    offerings: Sequence[Offering], slugs: Mapping[str, str], accounts: Mapping[str, AccountInUse], *, now: datetime
) -> list[Listed]:
    """`offerings` of the programme as rows. Three queries whatever their number."""
    walks = [walk for one in offerings for walk in one.walks.all()]
    limits, wanted = limits_of(walks), wanted_by(walks)
    return [_row(one, slugs.get(one.public_id, ""), limits, wanted, accounts, now=now) for one in offerings]


def _row(
    offering: Offering,
    slug: str,
    limits: Mapping[int, WalkLimits],
    wanted: Mapping[int, Sequence[str]],
    accounts: Mapping[str, AccountInUse],
    *,
    now: datetime,
) -> Listed:
    dates = tuple(dated(walk, limits[walk.pk]) for walk in offering.walks.all())
    coming = [one for one in dates if one.walk.ends_at > now] or dates
    left = min(one.left for one in coming)
    return Listed(
        offering=offering,
        slug=slug,
        dates=dates,
        next=coming[0],
        state=occupancy(left) if offering.state == Offering.State.PUBLISHED else offering.state,
        left=left,
        price=offering.prices.body["by_band"]["adult"],
        currency=offering.prices.body["currency"],
        in_season=in_season(coming[0].walk, wanted[coming[0].walk.pk], accounts),
    )


def in_season(walk: Walk, keys: Sequence[str], accounts: Mapping[str, AccountInUse]) -> tuple[str, ...]:
    """Common names of those of the taxa `keys` that `walk` may meet, likeliest first. No query."""
    wanted = [accounts[key].account for key in keys if key in accounts]
    ground = Ground(frozenset(walk.site.habitats), frozenset(walk.site.host_trees))
    met = expectation(wanted, day=walk.local_date, ground=ground, wanted=keys, vocabulary=vocabulary())
    return tuple(one.account.vernacular() for one in met.taught[:NAMED_IN_SEASON])


def leaders(walk: Walk) -> str:
    """Who goes along: "Gwen Guide and Harry Guide; first aid: Gwen Guide". No query with guides prefetched."""
    outings = sorted(walk.walk_guides.all(), key=_by_role)
    first_aiders = [one.guide.name for one in outings if _first_aid(one, walk)]
    names = _joined(one.guide.name for one in outings)
    if not first_aiders:
        return names
    if len(first_aiders) < len(outings):
        return f"{names}; first aid: {_joined(first_aiders)}"
    return f"{names}, {FIRST_AIDERS.get(len(outings), 'all first-aiders')}"


def _by_role(outing: WalkGuide) -> tuple[int, int]:
    return list(WalkGuide.Role).index(WalkGuide.Role(outing.role)), outing.pk


def _first_aid(outing: WalkGuide, walk: Walk) -> bool:
    kind = GuideCertificate.Kind.FIRST_AID
    return any(one.kind == kind and one.covers(walk.local_date) for one in outing.guide.certificates.all())


def _joined(words: Iterable[str]) -> str:
    *first, last = [*words] or [""]
    return f"{', '.join(first)} and {last}" if first else last
