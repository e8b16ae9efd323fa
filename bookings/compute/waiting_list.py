"""Whom a free place is offered to, and whether anything is on open sale while people wait.

Our rule, no published standard: in the order of joining, each party is offered places if it fits whole; one that does
not fit is passed over, is told so, and after three times freed places are saved for it until 7 days before the walk.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from bookings.compute.rooms import Room, all_take, all_with, could_ever_take
from walks.compute.head_count import PartyAges

PASSED_OVER_AT_MOST = 3
"""So often a party is passed over; then freed places are saved for it (our rule)."""

SAVED_UNTIL_DAYS_BEFORE = 7
"""Up to this many days before the walk places are saved (our rule)."""


@dataclass(frozen=True, slots=True)
class Waiting:
    """One party of the list; `passed_over` = how often a later one was offered places."""

    key: int
    party: PartyAges
    passed_over: int = 0


@dataclass(frozen=True, slots=True)
class Round:
    """What one look at the list comes to: keys to offer, keys passed over by it, and for whom places are saved."""

    offer: tuple[int, ...] = ()
    passed_over: tuple[int, ...] = ()
    saved_for: int | None = None


def look_at_the_list(rooms: Sequence[Room], waiting: Sequence[Waiting], *, days_before: int) -> Round:
    """Decide for the `waiting`, in their order, on the walks as they stand `days_before` the first walk's day.

    A party is passed over only where a later one is offered places in the same round.
    """
    offer: list[int] = []
    skipped: list[int] = []
    passed_over: list[int] = []
    for one in waiting:
        if all_take(rooms, one.party):
            rooms = all_with(rooms, one.party)
            offer.append(one.key)
            passed_over, skipped = [*passed_over, *skipped], []
        elif _is_saved_for(rooms, one, days_before):
            return Round(tuple(offer), tuple(passed_over), one.key)
        else:
            skipped.append(one.key)
    return Round(tuple(offer), tuple(passed_over))


def _is_saved_for(rooms: Sequence[Room], one: Waiting, days_before: int) -> bool:
    often = one.passed_over >= PASSED_OVER_AT_MOST
    return often and days_before > SAVED_UNTIL_DAYS_BEFORE and could_ever_take(rooms, one.party)


def is_on_open_sale(rooms: Sequence[Room], waiting: Sequence[Waiting], *, days_before: int) -> bool:
    """Whether anybody may book: nobody who waits fits, and no places are being saved."""
    found = look_at_the_list(rooms, waiting, days_before=days_before)
    return not found.offer and found.saved_for is None
