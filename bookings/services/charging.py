"""What places cost: the lines of a booking, and the sale in the ledger."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from bookings.compute.prices import NO_DISCOUNT, Discount, PriceList, discount_shares
from bookings.compute.refunds import kept_shares
from bookings.models import Booking, BookingLine, Person, Transfer
from bookings.queries import balance, prices_of, written_off
from bookings.services.book_tax import book_tax
from bookings.services.invoicing import credit_what_ended
from bookings.services.ledger import move
from bookings.services.return_to_vouchers import return_to_vouchers
from bookings.vat import Taxed, taxed_as
from foraywright.floor.acts import require_act
from foraywright.floor.compute.money import tax_within
from foraywright.floor.models import PolicyVersion


def write_lines(
    booking: Booking,
    people: Sequence[Person],
    *,
    now: datetime,
    discount: Discount = NO_DISCOUNT,
    refunds: PolicyVersion | None = None,
) -> int:
    """The step that freezes what `people` pay at the offering's prices, and its tax; returns the sum in minor units.

    `discount` comes off the sum. `refunds`: the refund policy that goes on holding, where it is not the offering's.
    """
    require_act()
    prices, taxed = prices_of(booking.offering), taxed_as(booking.offering, now=now)
    refunds = refunds or booking.offering.refunds
    offs = discount_shares(full_prices(people, prices), discount)
    lines = [_line(booking, one, off, taxed, refunds) for one, off in zip(people, offs, strict=True)]
    BookingLine.objects.bulk_create(lines)
    return sum(line.net_minor for line in lines)


def forget_unsold(booking: Booking) -> bool:
    """The step that takes out the lines of a hold that was never sold; whether there were any."""
    require_act()
    gone, _ = booking.lines.filter(ended_at=None).delete()
    return gone > 0


def full_prices(people: Sequence[Person], prices: PriceList) -> list[int]:
    """What each of `people` pays before any discount, in minor units."""
    return [prices.price(one.band, one.concession) for one in people]


def _line(booking: Booking, person: Person, off: int, taxed: Taxed, refunds: PolicyVersion) -> BookingLine:
    prices = prices_of(booking.offering)
    price, concession = prices.price(person.band, person.concession), prices.concession(person.concession)
    return BookingLine(
        booking=booking,
        person=person,
        label=person.band,
        concession=concession.label if concession is not None else "",
        price_minor=price,
        discount_minor=off,
        currency=prices.currency,
        vat_basis_points=taxed.basis_points,
        vat_minor=tax_within(price - off, taxed.basis_points),
        vat_category=taxed.category,
        vat=taxed.version,
        prices=booking.offering.prices,
        refunds=refunds,
    )


def end_lines(lines: Sequence[BookingLine], *, percent: int, earned: int = 0, now: datetime) -> int:
    """The step that ends `lines`, of which `percent` of the price beyond what is `earned` comes back.

    Returns by how much less is due, in minor units. The persons are let go: each may have a new line. What was invoiced
    and is due no more is credited.
    """
    require_act()
    prices = [line.net_minor for line in lines]
    kept = kept_shares(prices, percent, earned=earned)
    for line, part in zip(lines, kept, strict=True):
        line.ended_at, line.kept_minor, line.person = now, part, None
        line.save(update_fields=["ended_at", "kept_minor", "person"])
    if lines:
        credit_what_ended(lines[0].booking, now=now)
    return sum(prices) - sum(kept)


def charge(booking: Booking, amount_minor: int, *, now: datetime) -> None:
    """The step that writes the sale of places for `amount_minor`."""
    move(Transfer.Kind.SALE, "receivable", "deferred_income", amount_minor, booking, now=now)
    book_tax(booking, now=now)


def take_back(booking: Booking, amount_minor: int, *, into: str = "refunds_due", now: datetime) -> None:
    """The step by which `amount_minor` of the sale is taken back: debt is let go first, then what was written off of it
    is not lost any more, and the rest is promised back.

    What was paid beyond what is due is promised back with it, so that it stands in a named account.
    """
    owed = balance(booking)
    let_go = min(amount_minor, max(0, owed))
    kind = Transfer.Kind.CANCELLATION
    move(kind, "deferred_income", "receivable", let_go, booking, now=now)
    gone = min(amount_minor - let_go, written_off(booking))
    move(kind, "deferred_income", "bad_debts", gone, booking, now=now)
    move(kind, "deferred_income", into, amount_minor - let_go - gone, booking, now=now)
    move(kind, "receivable", into, max(0, -owed), booking, now=now)
    return_to_vouchers(booking, now=now)
    book_tax(booking, now=now)


def meet_own_promise(booking: Booking, amount_minor: int, *, now: datetime) -> None:
    """The step by which so much of what was promised back to a booking pays what it owes."""
    require_act()
    if amount_minor:
        move(Transfer.Kind.CREDIT, "refunds_due", "receivable", amount_minor, booking, now=now)
        book_tax(booking, now=now)
