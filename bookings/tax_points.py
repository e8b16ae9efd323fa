"""Reads of the tax that a booking owes by now, and of what stands in the ledger. The rule: `compute/tax_points.py`."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import Case, F, Q, Sum, When

from bookings.compute.earned import Earned, Sold, earned_of, earned_parts
from bookings.compute.tax_points import Taxable, chargeable, voucher_part, without_vouchers
from bookings.models import Booking, BookingLine, IncomeTaken
from bookings.queries import balance
from bookings.services.invoicing import invoiced_by_key
from bookings.vouchers import used_for


@dataclass(frozen=True, slots=True)
class Owed:
    """What the books must say of a booking, in minor units: a function of its lines, papers, payments and sessions.

    `vat` by rate in basis points; `voucher_tax`: what of its tax was owed since single-purpose vouchers were sold;
    `earned`: what its sessions earned so far, and what was kept.
    """

    vat: dict[int, int]
    voucher_tax: int
    earned: Earned


def owed_of(booking: Booking) -> Owed:
    """The tax that the booking owes by now. At most seven queries.

    A session counts as held once its income was taken. Money for places that are only held counts when they are sold.
    """
    lines = list(booking.lines.order_by("pk"))
    all_sold = [sold(one, booking) for one in lines]
    weights, held = sessions_taken(booking)
    taxable = _taxable(booking, lines, all_sold, earned_parts(all_sold, weights, held))
    due = sum(one.due_minor for one in taxable)
    tax = chargeable(taxable, due - balance(booking))
    rest = without_vouchers(tax, _owed_by_vouchers(booking) if any(tax.values()) else ())
    return Owed(rest, sum(tax.values()) - sum(rest.values()), earned_of(all_sold, weights, held))


def _taxable(booking: Booking, lines: list[BookingLine], all_sold: list[Sold], parts: list[int]) -> list[Taxable]:
    invoiced = invoiced_by_key(booking)
    return [
        Taxable(one.running_minor + one.kept_minor, invoiced.get(str(line.pk), 0), part, one.basis_points)
        for line, one, part in zip(lines, all_sold, parts, strict=True)
    ]


def sold(line: BookingLine, booking: Booking) -> Sold:
    """What of the line is sold: its price while it runs in a confirmed booking, and what is kept of it. No query."""
    runs = line.ended_at is None and booking.state == Booking.State.CONFIRMED
    return Sold(line.net_minor if runs else 0, line.kept_minor, line.vat_basis_points)


def sessions_taken(booking: Booking) -> tuple[list[int], int]:
    """The minutes of the booked walks in their order, and how many were held and their income taken. Two queries."""
    walks = list(booking.offering.walks.order_by("starts_at", "pk"))
    taken = set(IncomeTaken.objects.filter(walk__in=walks).values_list("walk", flat=True))
    return [one.minutes for one in walks], sum(one.pk in taken and one.called_off_at is None for one in walks)


def _owed_by_vouchers(booking: Booking) -> list[tuple[int, int]]:
    """Rate and tax of each single-purpose voucher's part. Two queries."""
    return [
        (rate, voucher_part(amount, rate, whole=amount == voucher.value_minor and voucher.instead_of_id is None))
        for voucher, amount in used_for(booking)
        if (rate := voucher.vat_basis_points) is not None
    ]


OF_TAX = ("vat", "voucher_tax")
SIGNED_TAX = Sum(
    Case(
        When(credit__key__in=OF_TAX, then=F("amount_minor")),
        When(debit__key__in=OF_TAX, then=-F("amount_minor")),
        default=0,
    )
)
"""Minor units of tax that is owed of some transfers of bookings, what was owed since vouchers were sold with it."""
SIGNED = Case(When(credit__key="vat", then=F("amount_minor")), default=-F("amount_minor"))
"""Minor units by which a transfer raises the tax owed, of those that ON_VAT finds."""
ON_VAT = Q(credit__key="vat") | Q(debit__key="vat")


def standing_vat(booking: Booking) -> dict[int | None, int]:
    """The tax of the booking that stands in the ledger, by rate. One query, or two.

    What was booked before rates were noted is of the booking's only rate; it stays under None where there are several.
    """
    rows = booking.transfers.filter(ON_VAT).values_list("vat_basis_points").annotate(sum=Sum(SIGNED))
    standing: dict[int | None, int] = dict(rows.order_by("vat_basis_points"))
    rate = only_rate(booking.lines.all()) if None in standing else None
    if rate is not None:
        standing[rate] = standing.get(rate, 0) + standing.pop(None)
    return standing


def only_rate(lines: Iterable[BookingLine]) -> int | None:
    """The rate of all `lines` that are taxed, in basis points; None where there are several or none. No query."""
    rates = {one.vat_basis_points for one in lines} - {0}
    return rates.pop() if len(rates) == 1 else None
