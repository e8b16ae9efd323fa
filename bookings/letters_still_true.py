"""Whether a letter that was meant earlier is still true at the moment of sending."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import datetime

from django.db.models import Q, QuerySet

from bookings.adults import short_of_adults
from bookings.attendance import certificates_of
from bookings.compute.changes_told import net_changes
from bookings.dues import dues_of
from bookings.letter_matters import told_of, undeclared, untold_changes
from bookings.models import Booking, GroupQuote, OutboxMessage
from bookings.queries import ADULT
from bookings.quote_states import OPEN, WHY_CLOSED, quote_state
from walks.models import Offering, Walk

Kind = OutboxMessage.Kind
State = Booking.State

TRUE_WHILE: Mapping[Kind, tuple[str, ...]] = {
    Kind.CONFIRMATION: (State.CONFIRMED,),
    Kind.CANCELLED: (State.CANCELLED,),
    Kind.CALLED_OFF: (State.CALLED_OFF,),
    Kind.WAITING: (State.WAITING,),
    Kind.PASSED_OVER: (State.WAITING,),
    Kind.OFFER: (State.HELD,),
    Kind.HOLD_LAPSING: (State.HELD,),
    Kind.JOINING: (State.CONFIRMED,),
    Kind.HANDOUT_READY: (State.CONFIRMED,),
    Kind.DECLARATION: (State.CONFIRMED,),
    Kind.ACCESS: (State.CONFIRMED, State.HELD, State.WAITING),
    Kind.PAYMENT_DUE: (State.CONFIRMED,),
    Kind.SHORT_OF_ADULTS: (State.CONFIRMED,),
    Kind.CERTIFICATE: (State.CONFIRMED,),
    Kind.WALK_CHANGED: (State.CONFIRMED, State.HELD, State.WAITING),
    Kind.CHANGED: (State.CONFIRMED, State.HELD, State.WAITING),
    Kind.MOVED: (State.CONFIRMED, State.HELD, State.WAITING),
}
"""The states of the booking in which a message of that kind is still true; others always are."""

OF_WHAT_TAKES_PLACE = frozenset(TRUE_WHILE) - {Kind.CALLED_OFF, Kind.CANCELLED}
"""Letters that nobody may get about what is called off."""

OF_A_WALK_TO_COME = (Kind.JOINING, Kind.HANDOUT_READY, Kind.DECLARATION, Kind.SHORT_OF_ADULTS)
"""Their version is the key of the walk that they are about."""

ONLY_THE_LAST = (Kind.WALK_CHANGED, Kind.CHANGED, Kind.MOVED, Kind.QUOTE, Kind.CONTACT, Kind.ACCESS)
"""Of several that wait only the last is sent: each says the whole of what holds."""


def no_longer_true(message: OutboxMessage, *, now: datetime) -> str:
    """Why `message` must not be sent any more; empty where it still holds. Two queries, of some kinds six."""
    if message.kind == Kind.FORMER_CONTACT:
        return _address_not_former(message)
    if message.booking_id is None:
        return _quote_news(message, now=now)
    booking = Booking.objects.select_related("offering", "party__contact").get(pk=message.booking_id)
    if booking.party.contact.erased_at:
        return "The address was erased."
    kind = Kind(message.kind)
    if booking.state not in TRUE_WHILE.get(kind, tuple(State)):
        return f"The booking is {booking.get_state_display().lower()}."
    if kind in OF_WHAT_TAKES_PLACE and booking.offering.state == Offering.State.CALLED_OFF:
        return "The walk is called off."
    if kind in OF_A_WALK_TO_COME and (why := _walk_not_to_come(message, booking, now=now)):
        return why
    if kind in ONLY_THE_LAST and _is_overtaken(message):
        return "A later letter says it."
    check = CHECKS.get(kind)
    return check(message, booking, now) if check else ""


def _address_not_former(message: OutboxMessage) -> str:
    """Erased with the names or, where it comes back, no longer kept: it never goes to who came after."""
    if not message.former_address:
        return "The former address is no longer kept."
    return "The address is in use again." if message.former_address == message.writes_to.email else ""


def _quote_news(message: OutboxMessage, *, now: datetime) -> str:
    quote = message.quoted
    if quote.enquiry.forgotten_at:
        return "The address was erased."
    if message.kind == Kind.QUOTE_CLOSED:
        return _nothing_closed(quote, now=now)
    if (state := quote_state(quote, now=now)) != OPEN:
        return WHY_CLOSED[state]
    return "A later letter says it." if _is_overtaken(message) else ""


def _nothing_closed(quote: GroupQuote, *, now: datetime) -> str:
    """A newer quote for the walk says it by itself, but for one that never went out; who had no quote misses none."""
    if (state := quote_state(quote, now=now)) in (OPEN, "booked", "declined"):
        return "The quote is open again." if state == OPEN else WHY_CLOSED[state]
    same = GroupQuote.objects.filter(enquiry=quote.enquiry_id, offering=quote.offering_id)
    if state == "replaced" or _brought(same.filter(made_at__gt=quote.made_at)):
        return WHY_CLOSED["replaced"]
    earlier = same.filter(made_at__lte=quote.made_at)
    return "" if _brought(earlier) else "They had not got the quote."


def _brought(quotes: QuerySet[GroupQuote]) -> bool:
    """Whether a letter with one of `quotes` arrived, as far as we know: one that is being sent may have."""
    letters = OutboxMessage.objects.filter(quote__in=quotes, kind=Kind.QUOTE)
    arrived = Q(done_at__isnull=False, not_needed="", bounced_at=None) | Q(handled_at__isnull=False)
    return letters.filter(arrived | Q(lease_until__isnull=False)).exists()


def _walk_not_to_come(message: OutboxMessage, booking: Booking, *, now: datetime) -> str:
    walk = Walk.objects.filter(pk=message.version, offering=booking.offering_id).first()
    if walk is None:
        return "The booking is for another walk now."
    if walk.called_off_at is not None:
        return "The walk is called off."
    return "The walk has begun." if walk.starts_at <= now else ""


def _is_overtaken(message: OutboxMessage) -> bool:
    same = OutboxMessage.objects.filter(booking=message.booking_id, quote=message.quote_id, kind=message.kind)
    return same.filter(version__gt=message.version, given_up_at=None).exists()


def _hold_over(message: OutboxMessage, booking: Booking, now: datetime) -> str:
    over = booking.held_until is not None and booking.held_until <= now
    return "The hold is over." if over else ""


def _nothing_changed(message: OutboxMessage, booking: Booking, now: datetime) -> str:
    net = net_changes(told_of(untold_changes(booking)))
    return "" if net else "All is as it was told before."


def _all_declared(message: OutboxMessage, booking: Booking, now: datetime) -> str:
    return "" if undeclared(booking) else "Everybody has declared."


def _nothing_answered(message: OutboxMessage, booking: Booking, now: datetime) -> str:
    return "" if booking.access_needs.filter(answered_at__isnull=False).exists() else "The answer was erased."


def _nothing_due(message: OutboxMessage, booking: Booking, now: datetime) -> str:
    """The version is the day by which it is due, as a number."""
    first = dues_of(booking)
    if first.first == 0:
        return "Nothing is left to pay."
    return "" if first.by and first.by.toordinal() == message.version else "It is due on another day now."


def _adults_found(message: OutboxMessage, booking: Booking, now: datetime) -> str:
    if not booking.party.people.exclude(band=ADULT).exists():
        return "No child of theirs is coming any more."
    return "" if short_of_adults(message.version, now=now) else "Enough adults are coming again."


def _no_certificate(message: OutboxMessage, booking: Booking, now: datetime) -> str:
    return "" if certificates_of(booking.offering, booking=booking, now=now) else "Nobody was there often enough."


CHECKS: Mapping[Kind, Callable[[OutboxMessage, Booking, datetime], str]] = {
    Kind.OFFER: _hold_over,
    Kind.HOLD_LAPSING: _hold_over,
    Kind.WALK_CHANGED: _nothing_changed,
    Kind.DECLARATION: _all_declared,
    Kind.ACCESS: _nothing_answered,
    Kind.PAYMENT_DUE: _nothing_due,
    Kind.CERTIFICATE: _no_certificate,
    Kind.SHORT_OF_ADULTS: _adults_found,
}
"""What else must hold of a kind."""
