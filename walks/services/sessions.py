"""One session of an offering as it is planned: what stands against it, and the step that writes it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, time, timedelta

from foraywright.floor.acts import require_act
from foraywright.floor.compute.clock_words import day_words
from foraywright.floor.ids import new_public_id
from foraywright.floor.models import Business
from walks.compute.daylight import after_dusk
from walks.compute.guide_rules import Outing, objections
from walks.compute.wall_time import UtcSpan, WallTimeRefused, utc_span
from walks.errors import WalkNotChanged
from walks.guides import asks_of, days_out, groups_of, local_days, record_of
from walks.models import Guide, Offering, Site, Theme, Walk, WalkGuide
from walks.queries import light_at

SHORTEST_MINUTES, LONGEST_MINUTES = 15, 12 * 60
FURTHEST = timedelta(days=3 * 365)

Fault = tuple[str, str]
"""A form field and the sentence that belongs to it."""


@dataclass(frozen=True, slots=True)
class Session:
    """One dated walk as it is planned: local wall time at the site; the first guide leads; helpers come after.

    `papers_later`: certificates that end before the day do not forbid the draft; publishing asks for them all the same.
    `theme`, `heading`, `covers` (keys of taxa) and `points` (one a line) say what the session teaches; empty: the
    offering's theme and all of its taxa.
    """

    site: Site
    local_date: date
    local_time: time
    minutes: int
    guides: tuple[Guide, ...]
    helpers: tuple[Guide, ...] = ()
    fold: int | None = None
    is_night_walk: bool = False
    low_water: time | None = None
    heading: str = ""
    theme: Theme | None = None
    covers: tuple[str, ...] = ()
    points: str = ""
    papers_later: bool = False

    @property
    def staff(self) -> tuple[Guide, ...]:
        """Everybody of ours, whoever leads first."""
        return (*self.guides, *self.helpers)


@dataclass(frozen=True, slots=True)
class Placed:
    """A session with the instants that follow from its wall time."""

    session: Session
    span: UtcSpan


def lock_guides(guides: Iterable[Guide]) -> dict[int, Guide]:
    """Lock the rows that bound the guides' weeks, in one order, and return them as they now are by primary key."""
    require_act()
    wanted = {one.pk for one in guides}
    return {one.pk: one for one in Guide.objects.select_for_update().filter(pk__in=wanted).order_by("pk")}


def with_guides_locked(sessions: Sequence[Session]) -> list[Session]:
    """The sessions with their guides locked and read anew: who comes second reads what the first has written."""
    now = lock_guides(one for session in sessions for one in session.staff)
    return [
        replace(
            session,
            guides=tuple(now[one.pk] for one in session.guides),
            helpers=tuple(now[one.pk] for one in session.helpers),
        )
        for session in sessions
    ]


def place(session: Session, *, now: datetime) -> tuple[UtcSpan | None, list[Fault]]:
    """The instants of `session`, or the fault for which it has none."""
    if abs(session.local_date - now.date()) > FURTHEST:
        too_far = f"{day_words(session.local_date)} is more than three years away. Look at the year."
        return None, [("local_date", too_far)]
    wall = datetime.combine(session.local_date, session.local_time)
    lasts = timedelta(minutes=min(max(session.minutes, 1), LONGEST_MINUTES))
    try:
        return utc_span(wall, session.site.zone, lasts, session.fold), []
    except WallTimeRefused as refused:
        return None, [("local_time", str(refused))]


def faults_of(
    session: Session, span: UtcSpan | None, theme: Theme, others: Sequence[Placed], *, walk: Walk | None, now: datetime
) -> Iterator[Fault]:
    """Everything against `session`. `others`: sessions of the same offering that are planned beside it; `walk`: the
    one that it changes, which therefore does not stand in its way."""
    yield from _plain_faults(session)
    if span is None:
        return
    if span.start <= now:
        when = f"{day_words(session.local_date)} at {session.local_time:%H:%M}"
        yield "local_date", f"{when} lies in the past. Choose a later time."
    yield from _light(session, span)
    if any(one.span.start < span.end and span.start < one.span.end for one in others):
        yield "local_date", f"Two dates of this course would be at once, on {day_words(session.local_date)}."
    for guide in dict.fromkeys(session.staff):
        yield from _clashes(guide, span, walk)
    yield from _against_guides(session, span, theme, others, walk)


def placed_in(offering: Offering, session: Session, *, walk: Walk | None, now: datetime) -> Placed:
    """`session` with its instants, as another or the changed `walk` of the locked `offering`. Raises WalkNotChanged."""
    span, faults = place(session, now=now)
    others = [_as_placed(one) for one in offering.walks.all() if one != walk]
    faults += faults_of(session, span, offering.theme, others, walk=walk, now=now)
    if faults or span is None:
        fields: dict[str, list[str]] = {}
        for field, sentence in faults:
            fields.setdefault(field, []).append(sentence)
        raise WalkNotChanged([sentence for _, sentence in faults], fields=fields)
    return Placed(session, span)


def _as_placed(walk: Walk) -> Placed:
    """Another session of the offering. Its outings are in the database, where the guides' days are counted."""
    bare = Session(walk.site, walk.local_date, walk.local_time, walk.minutes, guides=())
    return Placed(bare, UtcSpan(walk.starts_at, walk.ends_at, walk.fold))


def _plain_faults(session: Session) -> Iterator[Fault]:
    if not SHORTEST_MINUTES <= session.minutes <= LONGEST_MINUTES:
        yield "minutes", "A walk lasts from 15 minutes to 12 hours."
    if not session.guides:
        yield "guides", "A walk needs at least one guide. Choose who leads."
    for guide in dict.fromkeys(one for one in session.staff if session.staff.count(one) > 1):
        yield "guides", f"{guide.name} is named twice."


def _light(session: Session, span: UtcSpan) -> Iterator[Fault]:
    light = light_at(session.site, session.local_date)
    if after_dusk(span.end, light) and not session.is_night_walk:
        zone = session.site.clock
        dusk = (
            f"civil twilight ends at {light.civil_dusk.astimezone(zone):%H:%M}" if light.civil_dusk else "it stays dark"
        )
        yield (
            "is_night_walk",
            f"The walk would end at {span.end.astimezone(zone):%H:%M}, and {dusk} there that day. "
            "Start earlier, make it shorter, or declare it a night walk.",
        )


def _clashes(guide: Guide, span: UtcSpan, walk: Walk | None) -> Iterator[Fault]:
    out = WalkGuide.objects.filter(guide=guide, live=True, starts_at__lt=span.end, ends_at__gt=span.start)
    other = out.exclude(walk=walk).select_related("walk__offering").first()
    if other is not None:
        when = other.starts_at.astimezone(other.walk.clock)
        title = other.walk.offering.title
        yield "guides", f"{guide.name} is out on “{title}” from {when:%H:%M} on {day_words(when.date())}."


def _against_guides(
    session: Session, span: UtcSpan, theme: Theme, others: Sequence[Placed], walk: Walk | None
) -> Iterator[Fault]:
    first, last = local_days(span.start, span.end, session.site.clock)
    asks = asks_of(groups_of(session.theme or theme, session.covers), night=session.is_night_walk)
    for guide in dict.fromkeys(session.staff):
        days = days_out(guide, first, besides=walk.pk if walk else None)
        days += [one.session.local_date for one in others if guide in one.session.staff]
        outing = Outing(first, last, leads=session.guides[:1] == (guide,), asks=asks)
        for objection in objections(record_of(guide), outing, days):
            if not (session.papers_later and objection.rule == "certificate"):
                yield "guides", objection.sentence


def write_walk(offering: Offering, number: int, placed: Placed, *, now: datetime) -> Walk:
    """Write session `number` of `offering`. The calendar's UID is made here and stays for ever."""
    require_act()
    domain = Business.objects.values_list("calendar_domain", flat=True).get()
    walk = Walk.objects.create(
        offering=offering,
        number=number,
        calendar_uid=f"{new_public_id()}@{domain}",
        calendar_stamp=now,
        calendar_modified=now,
        **columns_of(placed),
    )
    write_outings(walk, placed.session)
    return walk


def columns_of(placed: Placed) -> dict[str, object]:
    """The columns of a walk that the session decides."""
    session, span = placed.session, placed.span
    return {
        "site": session.site,
        "local_date": session.local_date,
        "local_time": session.local_time,
        "fold": span.fold,
        "zone": session.site.zone,
        "minutes": session.minutes,
        "starts_at": span.start.astimezone(UTC),
        "ends_at": span.end.astimezone(UTC),
        "is_night_walk": session.is_night_walk,
        "low_water": session.low_water,
        "heading": session.heading,
        "theme": session.theme,
        "covers": list(session.covers),
        "points": session.points,
    }


def write_outings(walk: Walk, session: Session) -> None:
    """Send the session's people out on `walk`, in the order in which they are named."""
    require_act()
    roles = [WalkGuide.Role.GUIDES] * len(session.guides) + [WalkGuide.Role.HELPS] * len(session.helpers)
    roles[0] = WalkGuide.Role.LEADS
    for guide, role in zip(session.staff, roles, strict=True):
        WalkGuide.objects.create(walk=walk, guide=guide, role=role, starts_at=walk.starts_at, ends_at=walk.ends_at)


def session_of(walk: Walk) -> Session:
    """The session that `walk` is, to be changed in part. One query where the site is at hand."""
    leads, helps = WalkGuide.Role.LEADS, WalkGuide.Role.HELPS
    outings = sorted(walk.walk_guides.select_related("guide"), key=lambda one: (one.role != leads, one.pk))
    return Session(
        site=walk.site,
        local_date=walk.local_date,
        local_time=walk.local_time,
        minutes=walk.minutes,
        guides=tuple(one.guide for one in outings if one.role != helps),
        helpers=tuple(one.guide for one in outings if one.role == helps),
        fold=walk.fold,
        is_night_walk=walk.is_night_walk,
        low_water=walk.low_water,
        heading=walk.heading,
        theme=walk.theme,
        covers=tuple(walk.covers),
        points=walk.points,
    )
