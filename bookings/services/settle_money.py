"""What becomes of money that came in for a booking. Every penny goes to exactly one named account."""

from __future__ import annotations

from datetime import datetime

from bookings.compute.rooms import all_take
from bookings.models import Booking, OutboxMessage, Transfer, Voucher
from bookings.queries import ages_of, balance, currency_of, is_live, people_of, price_of, rooms_of, written_off
from bookings.services.book_tax import book_tax
from bookings.services.charging import take_back
from bookings.services.confirm_hold import confirm
from bookings.services.join_waiting_list import wait
from bookings.services.leave_behind import leave_behind
from bookings.services.ledger import transfer
from bookings.services.outbox import write_to
from bookings.services.places import give_back, seat
from bookings.services.selling import walks_to_come
from foraywright.floor.acts import require_act
from walks.models import Offering, Walk

LATE = (Booking.State.HELD, Booking.State.LAPSED, Booking.State.WAITING)
"""States in which money may come after the hold ran out."""


def settle_money(
    booking: Booking, *, into: str, amount_minor: int, voucher: Voucher | None = None, now: datetime
) -> None:
    """The step that writes `amount_minor` into the account `into` for a locked booking, and acts on it.

    Of a sold booking it meets the debt. Of a hold that runs it does too, and confirms the booking when all is paid.
    After the hold it confirms the booking where the party still fits (a party that has paid goes before those who only
    wait); else the party is back at its former place in the list and the money is promised back. What is more than owed
    is promised back; of a booking that was cancelled it waits for a person. A `voucher` pays live bookings only.
    """
    require_act()
    if is_live(booking, now=now):
        _receive(
            booking, into, amount_minor, most=still_to_pay(booking), beyond="refunds_due", voucher=voucher, now=now
        )
        if booking.state == Booking.State.HELD and not still_to_pay(booking):
            confirm(booking, now=now)
        else:
            _say_it_came(booking, now=now)
    elif booking.state in LATE:
        _settle_late(booking, into, amount_minor, now=now)
    else:
        _receive(booking, into, amount_minor, most=max(0, balance(booking)), beyond="unmatched", now=now)
        _say_it_came(booking, now=now)


def _say_it_came(booking: Booking, *, now: datetime) -> None:
    payment = booking.transfers.filter(kind=Transfer.Kind.PAYMENT).latest("pk")
    write_to(booking, OutboxMessage.Kind.PAYMENT, version=payment.pk, now=now)


def still_to_pay(booking: Booking) -> int:
    """What is still to be paid: of a hold its price, less what was paid in part."""
    not_sold_yet = price_of(booking) if booking.state != Booking.State.CONFIRMED else 0
    return max(0, not_sold_yet + balance(booking))


def _settle_late(booking: Booking, into: str, amount_minor: int, *, now: datetime) -> None:
    walks = _walks_that_still_fit(booking, now=now)
    owed = still_to_pay(booking)
    if walks and 0 < owed <= amount_minor:
        _receive(booking, into, amount_minor, most=owed, beyond="refunds_due", now=now)
        leave_behind(booking, walks, now=now)
        confirm(booking, now=now)  # first: what is shown as taken counts sold places
        seat(booking, people_of(booking), walks, now=now)
        return
    _receive(booking, into, amount_minor, most=0, beyond="refunds_due", now=now)
    _back_to_the_list(booking, now=now)


def _walks_that_still_fit(booking: Booking, *, now: datetime) -> list[Walk]:
    """The walks of the booking if its party could be seated now; none where it could not."""
    if not _takes_place(booking, now=now):
        return []
    walks = walks_to_come(booking.offering, now=now)
    party = ages_of(people_of(booking))
    return walks if all_take(rooms_of(walks, now=now, without=booking), party) else []


def _takes_place(booking: Booking, *, now: datetime) -> bool:
    published = booking.offering.state == Offering.State.PUBLISHED
    return published and booking.offering.walks.earliest("starts_at").starts_at > now


def _back_to_the_list(booking: Booking, *, now: datetime) -> None:
    """At the place that it had; where it never waited, at that of its booking."""
    take_back(booking, 0, now=now)
    booking.version += 1
    if _takes_place(booking, now=now):
        if booking.state == Booking.State.HELD:
            give_back(booking, now=now)
        booking.state = Booking.State.WAITING
        wait(booking, since=booking.booked_at, now=now)
    booking.save(update_fields=["state", "version"])
    write_to(booking, OutboxMessage.Kind.PAID_TOO_LATE, now=now)


def _receive(
    booking: Booking,
    into: str,
    amount_minor: int,
    *,
    most: int,
    beyond: str,
    voucher: Voucher | None = None,
    now: datetime,
) -> None:
    """Write the payment: up to `most` towards what is owed, then what makes good a debt that was written off, and what
    is `beyond` into that account."""
    towards = min(amount_minor, most)
    made_good = min(amount_minor - towards, written_off(booking))
    rest = amount_minor - towards - made_good
    for credit, amount in (("receivable", towards), ("bad_debts", made_good), (beyond, rest)):
        transfer(
            Transfer.Kind.PAYMENT,
            debit=into,
            credit=credit,
            amount_minor=amount,
            currency=currency_of(booking),
            booking=booking,
            voucher=voucher,
            now=now,
        )
    book_tax(booking, now=now)
