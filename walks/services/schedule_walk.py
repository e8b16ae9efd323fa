"""Put a walk, or a course of several sessions, in the calendar as a draft."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.utils.text import slugify

from foraywright.floor.acts import By, act, record
from foraywright.floor.ids import new_public_id
from foraywright.floor.models import Business, PolicyVersion, User
from foraywright.floor.numbering import give_slug
from walks.compute.daylight import after_dusk
from walks.compute.wall_time import UtcSpan, WallTimeRefused, utc_span
from walks.errors import WalkNotScheduled
from walks.models import Guide, Offering, Site, Theme, Walk, WalkGuide
from walks.queries import light_at

SHORTEST_MINUTES, LONGEST_MINUTES = 15, 12 * 60
FURTHEST = timedelta(days=3 * 365)


@dataclass(frozen=True, slots=True)
class Session:
    """One dated walk as it is planned: local wall time at the site; the first guide leads; helpers come after."""

    site: Site
    local_date: date
    local_time: time
    minutes: int
    guides: tuple[Guide, ...]
    helpers: tuple[Guide, ...] = ()
    fold: int | None = None
    is_night_walk: bool = False
    low_water: time | None = None


@dataclass(frozen=True, slots=True)
class Plan:
    """What is to be offered: a theme on one date, or a course on several."""

    title: str
    theme: Theme
    sessions: tuple[Session, ...]
    lead: str = ""
    fewest: int = 4
    prices: PolicyVersion | None = None


@act
def schedule_walk(plan: Plan, *, by: By, now: datetime) -> Offering:
    """Save `plan` as a draft and return it. Raises WalkNotScheduled with every fault by form field.

    The guides' rows are locked: two people scheduling at once could otherwise send one guide out twice.
    The database refuses that too, whoever writes.
    """
    wanted = {guide.pk for session in plan.sessions for guide in (*session.guides, *session.helpers)}
    list(Guide.objects.select_for_update().filter(pk__in=wanted).order_by("pk"))
    spans: list[UtcSpan] = []
    faults: dict[str, list[str]] = defaultdict(list)
    if not plan.sessions:
        faults["local_date"].append("There is no date. Choose at least one.")
    for session in plan.sessions:
        span = _span(session, faults, now=now)
        for field, sentence in _faults(session, span, spans, now=now):
            faults[field].append(sentence)
        spans += [span] if span else []
    if faults:
        raise WalkNotScheduled(faults)
    return _write(plan, spans, by=by, now=now)


def _span(session: Session, faults: dict[str, list[str]], *, now: datetime) -> UtcSpan | None:
    if abs(session.local_date - now.date()) > FURTHEST:
        faults["local_date"].append(f"{_day(session.local_date)} is more than three years away. Look at the year.")
        return None
    wall = datetime.combine(session.local_date, session.local_time)
    lasts = timedelta(minutes=min(max(session.minutes, 1), LONGEST_MINUTES))
    try:
        return utc_span(wall, session.site.zone, lasts, session.fold)
    except WallTimeRefused as refused:
        faults["local_time"].append(str(refused))
        return None


def _faults(
    session: Session, span: UtcSpan | None, earlier: list[UtcSpan], *, now: datetime
) -> Iterator[tuple[str, str]]:
    if not SHORTEST_MINUTES <= session.minutes <= LONGEST_MINUTES:
        yield "minutes", "A walk lasts from 15 minutes to 12 hours."
    if not session.guides:
        yield "guides", "A walk needs at least one guide. Choose who leads."
    staff = (*session.guides, *session.helpers)
    for guide in dict.fromkeys(one for one in staff if staff.count(one) > 1):
        yield "guides", f"{guide.name} is named twice."
    if span is None:
        return
    if span.start <= now:
        yield (
            "local_date",
            f"{_day(session.local_date)} at {session.local_time:%H:%M} lies in the past. Choose a later time.",
        )
    yield from _light(session, span)
    if any(one.start < span.end and span.start < one.end for one in earlier):
        yield "local_date", f"Two dates of this course would be at once, on {_day(session.local_date)}."
    for guide in dict.fromkeys(staff):
        yield from _clashes(guide, span)


def _light(session: Session, span: UtcSpan) -> Iterator[tuple[str, str]]:
    light = light_at(session.site, session.local_date)
    if after_dusk(span.end, light) and not session.is_night_walk:
        zone = ZoneInfo(session.site.zone)
        dusk = (
            f"civil twilight ends at {light.civil_dusk.astimezone(zone):%H:%M}" if light.civil_dusk else "it stays dark"
        )
        yield (
            "is_night_walk",
            f"The walk would end at {span.end.astimezone(zone):%H:%M}, and {dusk} there that day. "
            "Start earlier, make it shorter, or declare it a night walk.",
        )


def _clashes(guide: Guide, span: UtcSpan) -> Iterator[tuple[str, str]]:
    other = (
        WalkGuide.objects.filter(guide=guide, live=True, starts_at__lt=span.end, ends_at__gt=span.start)
        .select_related("walk__offering")
        .first()
    )
    if other is not None:
        when = other.starts_at.astimezone(ZoneInfo(other.walk.zone))
        yield (
            "guides",
            f"{guide.name} is out on “{other.walk.offering.title}” from {when:%H:%M} on {_day(when.date())}.",
        )


def _write(plan: Plan, spans: list[UtcSpan], *, by: By, now: datetime) -> Offering:
    offering = Offering.objects.create(
        kind=Offering.Kind.COURSE if len(plan.sessions) > 1 else Offering.Kind.WALK,
        title=plan.title,
        lead=plan.lead,
        theme=plan.theme,
        prices=plan.prices or newest_policy(PolicyVersion.Kind.PRICES),
        ratios=newest_policy(PolicyVersion.Kind.RATIOS),
        refunds=newest_policy(PolicyVersion.Kind.REFUNDS),
        fewest=plan.fewest,
        created_by=by if isinstance(by, User) else None,
        created_at=now,
    )
    give_slug("offering", _slug(plan), offering.public_id, now=now)
    for number, (session, span) in enumerate(zip(plan.sessions, spans, strict=True), start=1):
        _write_walk(offering, number, session, span, now=now)
    record("schedule walk", offering, by=by, now=now, fields=("title", "theme", "site", "date", "guides"))
    return offering


def _slug(plan: Plan) -> str:
    return f"{slugify(plan.title)[:60] or 'walk'}-{plan.sessions[0].local_date:%Y-%m-%d}"


def _write_walk(offering: Offering, number: int, session: Session, span: UtcSpan, *, now: datetime) -> None:
    domain = Business.objects.values_list("calendar_domain", flat=True).get()
    walk = Walk.objects.create(
        offering=offering,
        number=number,
        site=session.site,
        local_date=session.local_date,
        local_time=session.local_time,
        fold=span.fold,
        zone=session.site.zone,
        minutes=session.minutes,
        starts_at=span.start.astimezone(UTC),
        ends_at=span.end.astimezone(UTC),
        is_night_walk=session.is_night_walk,
        low_water=session.low_water,
        calendar_uid=f"{new_public_id()}@{domain}",
        calendar_stamp=now,
        calendar_modified=now,
    )
    roles = [(one, WalkGuide.Role.GUIDES) for one in session.guides] + [
        (one, WalkGuide.Role.HELPS) for one in session.helpers
    ]
    roles[0] = (roles[0][0], WalkGuide.Role.LEADS)
    for guide, role in roles:
        WalkGuide.objects.create(walk=walk, guide=guide, role=role, starts_at=walk.starts_at, ends_at=walk.ends_at)


def newest_policy(kind: str) -> PolicyVersion:
    """The policy version that new offerings are sold under."""
    policy = PolicyVersion.objects.filter(kind=kind).order_by("-number").first()
    if policy is None:
        raise WalkNotScheduled({"": [f"There is no policy “{PolicyVersion.Kind(kind).label}” yet. Set one up first."]})
    return policy


def _day(day: date) -> str:
    return f"{day:%A} {day.day} {day:%B %Y}"
