"""Change who comes: add people, cancel some of them, say whether an adult looks after the children."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime

from bookings.adults import asked_for_an_adult
from bookings.compute.prices import NO_DISCOUNT, Discount
from bookings.compute.refunds import ChangeTerms, kept_shares
from bookings.compute.rooms import could_ever_take
from bookings.discounts import discount_of
from bookings.errors import NotBooked, NotChanged
from bookings.lifts import adults_of
from bookings.models import Booking, FormSent, OutboxMessage, Person, WaitingEntry
from bookings.queries import (
    ADULT,
    ages_of,
    balance,
    due,
    is_open_to_all,
    people_of,
    prices_of,
    refund_due,
    rooms_of,
    written_off,
)
from bookings.services.cancel_booking import refund_percent
from bookings.services.charging import (
    charge,
    end_lines,
    forget_unsold,
    full_prices,
    meet_own_promise,
    take_back,
    write_lines,
)
from bookings.services.locks import lock_booking, was_sent_before
from bookings.services.orders import MOST_IN_A_PARTY, new_people
from bookings.services.outbox import write_to
from bookings.services.places import look_at_list, seat, show_taken
from bookings.services.selling import walks_to_come
from bookings.services.share_lifts import end_lift
from bookings.services.take_discount import give_up_shares
from foraywright.floor.acts import By, act, record, require_act
from walks.compute.head_count import PartyAges
from walks.compute.head_count import Person as PersonAge
from walks.models import Walk
from walks.queries import ratio_policy

STAYS = "Your booking stays as it was."
AS_A_GIFT = Discount(percent=100)


@dataclass(frozen=True, slots=True)
class PartyChange:
    """What a party asks for: public ids of people who do not come, age bands (and names) of people who come as well.

    `concessions`: the key of each concession of those who come as well, or nothing, in the order of `add`.
    `guardian`: an adult of the party is in charge of its children.
    """

    remove: frozenset[str] = frozenset()
    add: tuple[str, ...] = ()
    names: tuple[str, ...] = ()
    concessions: tuple[str, ...] = ()
    guardian: bool = True


@dataclass(frozen=True, slots=True)
class _Plan:
    """The change worked out on the people as they are. `in_charge`: who looks after the children, if anybody does."""

    before: tuple[Person, ...]
    going: tuple[Person, ...]
    staying: tuple[Person, ...]
    added: tuple[Person, ...]
    in_charge: Person | None

    @property
    def after(self) -> tuple[Person, ...]:
        return (*self.staying, *self.added)

    @property
    def grows(self) -> bool:
        return len(self.after) > len(self.before)

    @property
    def ages(self) -> PartyAges:
        """The party after the change, as the ratios count it."""
        people = self.after
        place = next((n for n, one in enumerate(people) if one is self.in_charge), None)
        return PartyAges(tuple(PersonAge(one.youngest_age, None if one.band == ADULT else place) for one in people))


def change_terms(booking: Booking, change: PartyChange, *, now: datetime) -> ChangeTerms:
    """What the change would mean for the money now. Raises NotChanged for an age band that there is none of."""
    return _terms(booking, _plan(booking, change), now=now)


def possible_change(booking: Booking, change: PartyChange, *, now: datetime) -> ChangeTerms:
    """The same of a change that could be made as things stand. Raises NotChanged where it could not, before anybody
    weighs what it costs.
    """
    _refuse(booking, _plan(booking, change), walks_to_come(booking.offering, now=now), now=now)
    return change_terms(booking, change, now=now)


@act
def change_party(booking: Booking, change: PartyChange, *, terms: str, key: str, by: By, now: datetime) -> Booking:
    """Carry out the change under the `terms` (the mark of ChangeTerms) that were shown; the same key does it once.

    A party that waits goes to the end of the list where it grows, and keeps its place where it shrinks. Raises
    NotChanged. Offering and booking are locked: other sales count with this party as it is.
    """
    booking, _ = lock_booking(booking)
    if was_sent_before(key):
        return booking
    plan, walks = _plan(booking, change), walks_to_come(booking.offering, now=now)
    _refuse(booking, plan, walks, now=now)
    agreed = _terms(booking, plan, now=now)
    if agreed.mark != terms:
        raise NotChanged(
            "The amount has changed since it was shown.", became=STAYS, now="Look at it again, and send it again."
        )
    _carry_out(booking, plan, walks, agreed, now=now)
    if not adults_of(booking):
        end_lift(booking, now=now)
    FormSent.objects.create(key=key, booking=booking, act="change party", at=now)
    write_to(booking, OutboxMessage.Kind.CHANGED, now=now)
    record("change party", booking, by=by, now=now, fields=("party", "places"))
    return booking


def _plan(booking: Booking, change: PartyChange) -> _Plan:
    before = people_of(booking)
    staying = [one for one in before if one.public_id not in change.remove]
    try:
        added = new_people(change.add, change.names, ratio_policy(booking.offering.ratios), change.concessions)
    except NotBooked as refused:
        raise NotChanged("Not changed.", why=refused.why, became=STAYS) from refused
    going = tuple(one for one in before if one.public_id in change.remove)
    in_charge = _in_charge([*staying, *added]) if change.guardian else None
    return _Plan(tuple(before), going, tuple(staying), tuple(added), in_charge)


def _in_charge(people: Sequence[Person]) -> Person | None:
    """Whoever looked after the children before, else the first adult; nobody where no adult comes."""
    adults = [one for one in people if one.band == ADULT]
    before = {one.guardian_id for one in people if one.guardian_id}
    return next((one for one in adults if one.pk in before), adults[0] if adults else None)


def _terms(booking: Booking, plan: _Plan, *, now: datetime) -> ChangeTerms:
    before, gone = due(booking), written_off(booking)
    paid = before - balance(booking) - gone
    if booking.state != Booking.State.CONFIRMED:
        return ChangeTerms(before, before, paid, gone)
    promised = refund_due(booking)
    lines = booking.lines.filter(ended_at=None, person__in=plan.going).order_by("pk")
    removed = [one.net_minor for one in lines]
    kept = sum(kept_shares(removed, refund_percent(booking, now=now)))
    paying = _paying(plan, _asked_for(booking, plan, now=now))
    added = sum(full_prices(paying, prices_of(booking.offering)))
    return ChangeTerms(before, before - sum(removed) + kept + added, paid, gone, promised)


def _asked_for(booking: Booking, plan: _Plan, *, now: datetime) -> Sequence[Person]:
    """The adult who joins because we asked for one: free of charge."""
    adults = [one for one in plan.added if one.band == ADULT][:1]
    return adults if adults and asked_for_an_adult(booking, now=now) else []


def _paying(plan: _Plan, free: Sequence[Person]) -> Sequence[Person]:
    return [one for one in plan.added if one not in free]


def _refuse(booking: Booking, plan: _Plan, walks: Sequence[Walk], *, now: datetime) -> None:
    reasons = list(_reasons_against(booking, plan, now=now)) or list(_no_room(booking, plan, walks, now=now))
    if reasons:
        raise NotChanged("Your party was not changed.", why=reasons, became=STAYS)


def _reasons_against(booking: Booking, plan: _Plan, *, now: datetime) -> Iterator[str]:
    if booking.state not in (Booking.State.CONFIRMED, Booking.State.WAITING):
        yield f"A booking that is {booking.get_state_display().lower()} cannot be changed."
    elif booking.offering.private:
        yield "The size of a group is part of its quote. Write to us, and we quote anew."
    elif booking.offering.walks.earliest("starts_at").starts_at <= now:
        yield "The walk has begun or is over. Write to us."
    if not plan.after:
        yield "Nobody would be left. Cancel the booking instead."
    if len(plan.after) > MOST_IN_A_PARTY:
        yield f"That would be {len(plan.after)} people; a party has at most {MOST_IN_A_PARTY}. Write to us for more."


def _no_room(booking: Booking, plan: _Plan, walks: Sequence[Walk], *, now: datetime) -> Iterator[str]:
    rooms, before = rooms_of(walks, now=now, without=booking), ages_of(list(plan.before))
    if booking.state == Booking.State.WAITING:
        if not could_ever_take(rooms, plan.ages):
            yield "Your party would not fit even if nobody else came."
        return
    for room in rooms:
        yield from room.what_gets_worse(before, plan.ages)
    if plan.grows and not is_open_to_all(booking.offering, walks, now=now, rooms=rooms, but=booking):
        yield "Free places go to those on the waiting list first."


def _carry_out(booking: Booking, plan: _Plan, walks: Sequence[Walk], terms: ChangeTerms, *, now: datetime) -> None:
    sold, free = booking.state == Booking.State.CONFIRMED, _asked_for(booking, plan, now=now)
    booking.version += 1
    booking.save(update_fields=["version"])
    if sold:
        gone = list(booking.lines.filter(ended_at=None, person__in=plan.going).order_by("pk"))
        give_up_shares(booking, gone)
        end_lines(gone, percent=refund_percent(booking, now=now), now=now)
    _write_people(booking, plan)
    if sold:
        refunds = booking.lines.order_by("pk").select_related("refunds")[0].refunds
        for people, discount in ((free, AS_A_GIFT), (_paying(plan, free), NO_DISCOUNT)):
            write_lines(booking, people, now=now, refunds=refunds, discount=discount)
        seat(booking, plan.added, walks, now=now)
        settle_change(booking, terms, now=now)
        show_taken(walks, now=now)
    else:
        _let_wait(booking, plan, now=now)
    look_at_list(booking.offering, now=now)


def _let_wait(booking: Booking, plan: _Plan, *, now: datetime) -> None:
    """Of a hold that ran out the prices are written anew: late money would else seat the party at those of another."""
    if plan.grows:
        WaitingEntry.objects.filter(booking=booking).update(joined_at=now)
    if forget_unsold(booking):
        write_lines(booking, plan.after, now=now, discount=discount_of(booking, booking.offering))


def _write_people(booking: Booking, plan: _Plan) -> None:
    """Adults first: the children's guardian must be there; those who do not come are erased last."""
    for one in sorted(plan.after, key=lambda one: one.band != ADULT):
        one.party = booking.party
        one.guardian = plan.in_charge if one.band != ADULT else None
        one.save()
    for one in sorted(plan.going, key=lambda one: one.band == ADULT):
        one.delete()


def settle_change(booking: Booking, terms: ChangeTerms, *, now: datetime) -> None:
    """The step that brings the ledger to what is due after a change: charge more, or take back what is less.

    What was promised back before meets what is owed now.
    """
    require_act()
    if terms.after > terms.before:
        charge(booking, terms.after - terms.before, now=now)
    else:
        take_back(booking, terms.before - terms.after, now=now)
    meet_own_promise(booking, terms.met, now=now)
