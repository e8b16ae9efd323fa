"""The step that changes one dated walk. Bookings does the act, since it knows who comes and whether they still fit."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime

from django.db.models import F

from foraywright.floor.acts import By, require_act
from foraywright.floor.compute.clock_words import clock, day_words
from foraywright.floor.models import User
from foraywright.floor.numbering import bump_feed
from walks.compute.changes import Difference, differences, is_material
from walks.errors import WalkNotChanged
from walks.models import LandownersPermission, Offering, Walk, WalkChange, WalkGuide
from walks.services.publish_walk import FEED, against_dates, unsigned, walks_with_guides_locked
from walks.services.sessions import (
    Placed,
    Session,
    columns_of,
    placed_in,
    session_of,
    with_guides_locked,
    write_outings,
)


def change_session(walk: Walk, session: Session, *, why: str, by: By, now: datetime) -> WalkChange | None:
    """Make `walk` (its offering and itself locked) what `session` says; return the row that tells of it, if published.

    All rules are asked anew, for a published walk those of publishing too. Raises WalkNotChanged.
    """
    require_act()
    _refuse_what_is_over(walk, now=now)
    list(LandownersPermission.objects.select_for_update().filter(site=session.site).order_by("pk"))
    [session] = with_guides_locked([session])
    placed = placed_in(walk.offering, session, walk=walk, now=now)
    found = differences(words_of(session_of(walk)), words_of(session))
    if not found:
        raise WalkNotChanged(["Nothing is different."])
    _write(walk, placed, found, now=now)
    if walk.offering.state != Offering.State.PUBLISHED:
        return None
    _refuse_what_could_not_be_published(walk, found, now=now)
    bump_feed(FEED, now=now)
    return _told(walk, found, why=why, by=by, now=now)


def _refuse_what_is_over(walk: Walk, *, now: datetime) -> None:
    if walk.offering.state == Offering.State.CALLED_OFF or walk.called_off_at is not None:
        raise WalkNotChanged(["It is called off."])
    if walk.starts_at <= now:
        raise WalkNotChanged(["It has begun or is over."])


def _write(walk: Walk, placed: Placed, found: list[Difference], *, now: datetime) -> None:
    columns = columns_of(placed)
    raised = {"calendar_sequence": F("calendar_sequence") + 1} if is_material(found) else {}
    missing = _missing(walk) if walk.local_date == placed.session.local_date else {}
    Walk.objects.filter(pk=walk.pk).update(**columns, **raised, calendar_modified=now)
    WalkGuide.objects.filter(walk=walk).delete()
    walk.starts_at, walk.ends_at = placed.span.start.astimezone(UTC), placed.span.end.astimezone(UTC)
    write_outings(walk, placed.session)
    for guide, since in missing.items():
        WalkGuide.objects.filter(walk=walk, guide=guide).update(missing_since=since)


def _missing(walk: Walk) -> dict[int, datetime]:
    """Who was said not to have come, by the guide's key, and since when: a change of that day's walk brings nobody."""
    return {one.guide_id: one.missing_since for one in WalkGuide.objects.filter(walk=walk) if one.missing_since}


def _refuse_what_could_not_be_published(walk: Walk, found: list[Difference], *, now: datetime) -> None:
    walks = walks_with_guides_locked(Walk.objects.filter(pk=walk.pk))
    reasons = list(against_dates(walks, now=now))
    if any(one.field == "covers" for one in found):
        reasons += unsigned(walks, today=now.date())
    if reasons:
        raise WalkNotChanged(list(dict.fromkeys(reasons)))


def _told(walk: Walk, found: list[Difference], *, why: str, by: By, now: datetime) -> WalkChange:
    return WalkChange.objects.create(
        walk=walk,
        at=now,
        by=by.public_id if isinstance(by, User) else by,
        why=why,
        what=[{"field": one.field, "label": one.label, "before": one.before, "after": one.after} for one in found],
        material=is_material(found),
        due_at=now,
    )


def words_of(session: Session) -> dict[str, str]:
    """Every fact of the session in words, by the fields of walks.compute.changes."""
    return {
        "day": day_words(session.local_date),
        "start": clock(session.local_time) + (", the second time" if session.fold else ""),
        "length": f"{session.minutes} minutes",
        "place": f"{session.site.name}, {session.site.meeting_point}",
        "guides": ", ".join(_people(session)),
        "low_water": clock(session.low_water) if session.low_water else "",
        "in_the_dark": "a night walk" if session.is_night_walk else "",
        "covers": _covers(session),
    }


def _people(session: Session) -> Iterator[str]:
    yield from (one.name for one in session.guides)
    yield from (f"{one.name} (helps)" for one in session.helpers)


def _covers(session: Session) -> str:
    theme = session.theme.name if session.theme else ""
    points = [line.strip() for line in session.points.splitlines() if line.strip()]
    return "; ".join(part for part in (session.heading, theme, *points, ", ".join(session.covers)) if part)
