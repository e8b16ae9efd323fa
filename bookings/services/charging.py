"""What places cost: the lines of a booking, and the sale in the ledger."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from bookings.compute.refunds import kept_shares
from bookings.models import Booking, BookingLine, Person, Transfer
from bookings.queries import balance, prices_of
from bookings.services.ledger import transfer
from foraywright.floor.acts import require_act
from foraywright.floor.models import PolicyVersion


def write_lines(booking: Booking, people: Sequence[Person], *, refunds: PolicyVersion | None = None) -> int:
    """The step that freezes what `people` pay at the offering's prices; returns the sum in minor units.

    `refunds`: the refund policy that goes on holding, where it is not the offering's.
    """
    require_act()
    offering, prices = booking.offering, prices_of(booking.offering)
    lines = [
        BookingLine(
            booking=booking,
            person=one,
            label=one.band,
            price_minor=prices.price(one.band),
            currency=prices.currency,
            vat_basis_points=prices.vat_basis_points,
            prices=offering.prices,
            refunds=refunds or offering.refunds,
        )
        for one in people
    ]
    BookingLine.objects.bulk_create(lines)
    return sum(line.price_minor for line in lines)


def end_lines(lines: Sequence[BookingLine], *, percent: int, earned: int = 0, now: datetime) -> int:
    """The step that ends `lines`, of which `percent` of the price beyond what is `earned` comes back.

    Returns by how much less is due, in minor units. The persons are let go: each may have a new line.
    """
    require_act()
    prices = [line.net_minor for line in lines]
    kept = kept_shares(prices, percent, earned=earned)
    for line, part in zip(lines, kept, strict=True):
        line.ended_at, line.kept_minor, line.person = now, part, None
        line.save(update_fields=["ended_at", "kept_minor", "person"])
    return sum(prices) - sum(kept)


def charge(booking: Booking, amount_minor: int, *, now: datetime) -> None:
    """The step that writes the sale of places for `amount_minor`."""
    _write(booking, Transfer.Kind.SALE, "receivable", "deferred_income", amount_minor, now=now)


def take_back(booking: Booking, amount_minor: int, *, into: str = "refunds_due", now: datetime) -> None:
    """The step by which `amount_minor` of the sale is taken back: debt is let go first, the rest promised back.

    What was paid beyond what is due is promised back with it, so that it stands in a named account.
    """
    owed = balance(booking)
    let_go = min(amount_minor, max(0, owed))
    kind = Transfer.Kind.CANCELLATION
    _write(booking, kind, "deferred_income", "receivable", let_go, now=now)
    _write(booking, kind, "deferred_income", into, amount_minor - let_go, now=now)
    _write(booking, kind, "receivable", into, max(0, -owed), now=now)


def _write(booking: Booking, kind: str, debit: str, credit: str, amount_minor: int, *, now: datetime) -> None:
    transfer(
        kind,
        debit=debit,
        credit=credit,
        amount_minor=amount_minor,
        currency=currency_of(booking),
        booking=booking,
        now=now,
    )


def currency_of(booking: Booking) -> str:
    """The currency of the booking's lines, or of its offering where it has none yet."""
    known = booking.lines.values_list("currency", flat=True).first()
    return known or prices_of(booking.offering).currency
