"""Mark who is present, absent or left early."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from uuid import UUID

from django.db.models import F

from bookings.errors import NotMarked
from bookings.models import AttendanceMark, Place, RegisterCopy
from foraywright.floor.acts import By, act, record, require_act
from foraywright.floor.models import User
from walks.models import Walk

EARLIEST = timedelta(hours=2)
CLOCKS_DIFFER = timedelta(minutes=15)


@dataclass(frozen=True, slots=True)
class Tick:
    """One mark as it comes in: made where `event` was made, of the person with that public id.

    `copy`: the copy of the register, and so the device, on which it was made without signal.
    """

    event: UUID
    person: str
    state: str
    seen_at: datetime
    settles: bool = False
    copy: RegisterCopy | None = None


@act
def mark_attendance(walk: Walk, ticks: Sequence[Tick], *, by: By, now: datetime) -> list[str]:
    """Keep `ticks` and return the public ids of people who have no place on `walk`.

    A tick of somebody who had one is kept all the same: a phone in the wood does not hear of a cancellation, and who
    was seen there must not be lost. Of anybody else there is nothing to keep it with.
    The same event again changes nothing, whoever sends it. The walk is locked: a phone that sends twice at once would
    otherwise fail over its own event. Raises NotMarked where nothing can be marked at all.
    """
    walk = Walk.objects.select_for_update().get(pk=walk.pk)
    _refuse(walk, ticks, now=now)
    places = _last_places(walk)
    known = set(AttendanceMark.objects.filter(event__in=[one.event for one in ticks]).values_list("event", flat=True))
    for tick in ticks:
        if tick.person in places and tick.event not in known:
            keep_mark(tick, places[tick.person], by=by, now=now)
            known.add(tick.event)
    record("mark attendance", walk.offering, by=by, now=now, fields=("attendance",))
    seated = {person for person, place in places.items() if place.given_back_at is None}
    return [one.person for one in ticks if one.person not in seated]


def _refuse(walk: Walk, ticks: Sequence[Tick], *, now: datetime) -> None:
    if walk.called_off_at is not None:
        raise NotMarked("This walk was called off.", became="Nothing was marked.")
    if now < walk.starts_at - EARLIEST:
        raise NotMarked("Nobody can have come yet.", became="Nothing was marked.", now="Mark it on the day.")
    if why := [reason for one in ticks if (reason := against_tick(one, walk, now=now))]:
        raise NotMarked("Nothing was marked.", why=list(dict.fromkeys(why)), became="All stands as it was.")


def against_tick(tick: Tick, walk: Walk, *, now: datetime) -> str:
    """Why this one cannot be kept, whatever comes with it; empty where it can."""
    if tick.state not in AttendanceMark.State.values:
        return f"“{tick.state}” is no way of attending."
    if tick.seen_at > now + CLOCKS_DIFFER:
        return "It comes from the future: look at the clock of the device and send it again."
    if tick.seen_at < walk.starts_at - EARLIEST - CLOCKS_DIFFER:
        return (
            "It is from before anybody can have come to the walk as it stands now: the walk was moved, or the clock "
            "of the device was wrong. Mark it anew."
        )
    return ""


def _last_places(walk: Walk) -> dict[str, Place]:
    """By person the place on `walk`, or the one that was given back last."""
    places = Place.objects.filter(walk=walk).select_related("person")
    return {one.person.public_id: one for one in places.order_by(F("given_back_at").asc(nulls_last=True))}


def keep_mark(tick: Tick, place: Place, *, by: By, now: datetime) -> None:
    """The step that writes one mark."""
    require_act()
    AttendanceMark.objects.create(
        event=tick.event,
        place=place,
        state=tick.state,
        seen_at=tick.seen_at,
        recorded_at=now,
        by=by.public_id if isinstance(by, User) else by,
        settles=tick.settles,
        copy=tick.copy,
    )
