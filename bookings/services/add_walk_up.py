"""Take on a party that comes to the meeting point without a booking."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import NoReturn
from uuid import UUID, uuid5

from bookings.arrivals import against_bringing
from bookings.errors import NotBooked
from bookings.models import (
    AttendanceMark,
    Booking,
    CallersConsent,
    OutboxMessage,
    Person,
    RegisterCopy,
    SaidBy,
    WalkUp,
)
from bookings.queries import ADULT, balance, rooms_of
from bookings.register import room_on_the_day
from bookings.services.charging import charge, write_lines
from bookings.services.declare import Answers, write_declaration
from bookings.services.locks import lock_offerings
from bookings.services.mark_attendance import CLOCKS_DIFFER, EARLIEST, Tick, keep_mark
from bookings.services.orders import (
    MOST_IN_A_PARTY,
    NOTHING_TAKEN,
    Order,
    accept_rules,
    ages_before_saving,
    enter,
    has_guardian,
    new_people,
    note_consent,
)
from bookings.services.outbox import write_to
from bookings.services.places import seat
from bookings.services.selling import DAYS_TO_PAY
from bookings.services.settle_money import settle_money
from bookings.services.take_income import earn_late
from foraywright.floor.acts import act, record
from foraywright.floor.models import PolicyVersion, User
from walks.models import Offering, Walk
from walks.queries import ratio_policy, with_everything

TAKEN_ON_THE_SPOT = (WalkUp.Pays.CASH, WalkUp.Pays.CARD)


@dataclass(frozen=True, slots=True)
class CameUnbooked:
    """A party at the meeting point: what it asks for, and what was asked and read to it there.

    `event` was made where it was added. `rules`: the ground rules that were read to it. `ring`: name, phone and
    relation of whom to ring; needed where it has nothing to declare, since that is then its declaration.
    """

    event: UUID
    order: Order
    came_at: datetime
    pays: str
    heard: str
    rules: PolicyVersion
    ring: tuple[str, str, str] = ("", "", "")


@dataclass(frozen=True, slots=True)
class _Against:
    """What speaks against a party, in sentences, and how many of it would fit."""

    reasons: tuple[str, ...]
    would_fit: int


@act
def add_walk_up(walk: Walk, came: CameUnbooked, *, by: User, now: datetime, copy: RegisterCopy | None = None) -> WalkUp:
    """Sell the places at the meeting point and mark the party present; the same event again returns what it made.

    With signal a party that breaks a limit is refused (NotBooked). Without signal (`copy`: the register on the device)
    and once the walk is over (from the printed register) it was in the wood whatever we think of it: it is written
    down, with all that speaks against it, and waits for a person. The offering is locked first, then its walks: a sale
    on the web would otherwise take the same place.
    """
    offering = lock_offerings(walk.offering_id)[walk.offering_id]
    before = WalkUp.objects.filter(event=came.event).first()
    if before is not None:
        return before
    order = replace(came.order, offering=offering, key=str(came.event), agreed=CallersConsent.How.IN_PERSON)
    walks = list(with_everything(offering.walks.filter(starts_at__gte=walk.starts_at)))
    _refuse_what_cannot_be(came, offering, walks, now=now)
    people = new_people(order.bands, order.names, ratio_policy(offering.ratios), order.concessions)
    against = _against(order, people, walks, came_at=came.came_at, now=now)
    if against.reasons and copy is None and now <= walks[0].ends_at:
        _refuse(against)
    booking = _sell(order, people, walks, came, by=by, now=now)
    walk_up = _write(came, booking, walks[0], against, by=by, now=now, copy=copy)
    _say_who_is_here(came, walk_up, people)
    broken = "against a limit" if against.reasons else ""
    record("add walk-up", booking, by=by, now=now, fields=("party", "places"), reason=broken)
    return walk_up


def _refuse_what_cannot_be(came: CameUnbooked, offering: Offering, walks: Sequence[Walk], *, now: datetime) -> None:
    reasons = list(_impossible(came, offering, walks, now=now))
    if reasons:
        raise NotBooked("Not added.", why=reasons, became=NOTHING_TAKEN)


def _impossible(came: CameUnbooked, offering: Offering, walks: Sequence[Walk], *, now: datetime) -> Iterator[str]:
    if offering.state == Offering.State.CALLED_OFF or walks[0].called_off_at is not None:
        yield "This walk was called off."
    elif offering.state != Offering.State.PUBLISHED:
        yield "This walk was never published."
    if not 0 < len(came.order.bands) <= MOST_IN_A_PARTY:
        yield f"A party is one person to {MOST_IN_A_PARTY}."
    if came.came_at > now + CLOCKS_DIFFER:
        yield "It comes from the future: look at the clock of the device and send it again."


def _refuse(against: _Against) -> NoReturn:
    fits = f"{against.would_fit} of them would fit." if against.would_fit else "Nobody of them would fit."
    raise NotBooked(
        "Not added: a limit would be broken.",
        why=against.reasons,
        became=NOTHING_TAKEN,
        now=fits,
        would_fit=against.would_fit,
    )


def _against(
    order: Order, people: Sequence[Person], walks: Sequence[Walk], *, came_at: datetime, now: datetime
) -> _Against:
    """Asked under the lock; `walks` = the session at whose meeting point they stand, then those after it.

    On the day itself a place of somebody who was marked absent or gone by then is free: they are not in the wood.
    Whoever was still awaited keeps theirs. Our rule.
    """
    party = ages_before_saving(people, guardian=has_guardian(people, order))
    rooms = (room_on_the_day(walks[0], at=came_at, now=now), *rooms_of(walks[1:], now=now))
    limits = dict.fromkeys(sentence for room in rooms for sentence in room.broken_with(party))
    others = (*_of_the_walk(walks[0], came_at), *against_bringing(order.brings, walks, now=now))
    return _Against((*others, *limits), min(room.decide(party).would_fit for room in rooms))


def _of_the_walk(walk: Walk, came_at: datetime) -> Iterator[str]:
    if walk.offering.private:
        yield "This walk is for a group alone: who comes with the group is changed by its quote."
    if walk.offering.walks.filter(starts_at__lt=walk.starts_at).exists():
        yield "The course is sold as a whole, and it has begun."
    if not walk.starts_at - EARLIEST <= came_at <= walk.ends_at:
        yield "People are taken on at the meeting point from two hours before the walk until its end."


def _sell(
    order: Order, people: list[Person], walks: Sequence[Walk], came: CameUnbooked, *, by: User, now: datetime
) -> Booking:
    """The step that sells, as to any party; who pays on the spot has paid in full."""
    booking = enter(order, people, Booking.State.CONFIRMED, now=now)
    if came.pays == WalkUp.Pays.LATER:
        booking.pay_by = now.astimezone(walks[0].clock).date() + timedelta(days=DAYS_TO_PAY)
    booking.save()
    accept_rules(booking, by=by, now=now, rules=came.rules)
    note_consent(booking, order, by=by, now=now)
    seat(booking, people, walks, now=now)
    charge(booking, write_lines(booking, people, now=now), now=now)
    earn_late(booking, now=now)
    if order.email:
        write_to(booking, OutboxMessage.Kind.CONFIRMATION, now=now)
    if came.pays in TAKEN_ON_THE_SPOT and (owed := balance(booking)):
        settle_money(booking, into="cash", amount_minor=owed, now=now)
    return booking


def _write(
    came: CameUnbooked,
    booking: Booking,
    walk: Walk,
    against: _Against,
    *,
    by: User,
    now: datetime,
    copy: RegisterCopy | None,
) -> WalkUp:
    return WalkUp.objects.create(
        event=came.event,
        booking=booking,
        walk=walk,
        pays=came.pays,
        heard=came.heard,
        came_at=came.came_at,
        recorded_at=now,
        added_by=by,
        copy=copy,
        against=list(against.reasons),
    )


def _say_who_is_here(came: CameUnbooked, walk_up: WalkUp, people: Sequence[Person]) -> None:
    """The step that marks the party present, and declares for those who may be spoken for: they have nothing to say.

    A child without a guardian in the party is not declared for: its details come from a guardian only.
    """
    booking, by, now = walk_up.booking, walk_up.added_by, walk_up.recorded_at
    places = {one.person_id: one for one in booking.places.filter(walk=walk_up.walk)}
    answers = Answers("", "", "", "", *came.ring, photos=False)
    for number, person in enumerate(people):
        event, present = uuid5(came.event, str(number)), AttendanceMark.State.PRESENT
        tick = Tick(event, person.public_id, present, came.came_at, copy=walk_up.copy)
        keep_mark(tick, places[person.pk], by=by, now=now)
        said_by = SaidBy.GUARDIAN if person.guardian_id else SaidBy.CONTACT
        if came.heard == WalkUp.Heard.NOTHING and (person.band == ADULT or person.guardian_id):
            write_declaration(booking, person, answers, said_by=said_by, rules=came.rules, now=now)
