"""The steps that issue numbered papers about a booking's money."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from bookings.compute.invoices import Charged, as_data, from_data, to_credit
from bookings.compute.references import creditor_reference
from bookings.compute.vat import vat_policy_from
from bookings.models import Booking, BookingLine, Invoice
from bookings.queries import ADULT, currency_of
from bookings.vat import vat_version_on
from foraywright.floor.acts import require_act
from foraywright.floor.house_time import house_day
from foraywright.floor.models import Business
from foraywright.floor.numbering import next_number
from walks.queries import ratio_policy

SIGNS = {Invoice.Kind.INVOICE: 1, Invoice.Kind.CREDIT_NOTE: -1}


def invoiced_by_key(booking: Booking) -> dict[str, int]:
    """What was invoiced of each line of the booking, credit notes taken off: minor units by key. One query."""
    sums: dict[str, int] = {}
    for paper in booking.invoices.filter(kind__in=SIGNS):
        for one in from_data(paper.lines):
            sums[one.key] = sums.get(one.key, 0) + SIGNS[Invoice.Kind(paper.kind)] * one.gross_minor
    return sums


def due_by_line(booking: Booking) -> list[Charged]:
    """What is due of each line of the booking; of a running one only where it is sold. Two queries."""
    labels = {ADULT: "Adult"} | {
        band.key: f"Child of {band.label}" for band in ratio_policy(booking.offering.ratios).bands
    }
    sold = booking.state == Booking.State.CONFIRMED
    return [_due(one, labels, sold=sold) for one in booking.lines.order_by("pk")]


def _due(line: BookingLine, labels: dict[str, str], *, sold: bool) -> Charged:
    label = ", ".join(filter(None, (labels.get(line.label, _capital(line.label)), line.concession)))
    if line.ended_at is None:
        return Charged(str(line.pk), label, line.net_minor if sold else 0, line.vat_basis_points)
    return Charged(str(line.pk), f"{label}, kept after cancellation", line.kept_minor, line.vat_basis_points)


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]


def credit_what_ended(booking: Booking, *, now: datetime) -> None:
    """The step that issues a credit note for what was invoiced and is not due any more; nothing without an invoice."""
    require_act()
    last = booking.invoices.filter(kind=Invoice.Kind.INVOICE).last()
    if last is None:
        return
    ended = to_credit(due_by_line(booking), invoiced_by_key(booking))
    if ended:
        issue(booking, Invoice.Kind.CREDIT_NOTE, ended, buyer=last.buyer, now=now)


def issue(booking: Booking, kind: str, lines: Sequence[Charged], *, buyer: str, now: datetime) -> Invoice:
    """The step that issues one paper under the next number of its kind. The number's row stays locked to the end."""
    require_act()
    business = Business.objects.get()
    days = [f"{day}" for day in booking.offering.walks.order_by("starts_at").values_list("local_date", flat=True)]
    return Invoice.objects.create(
        kind=kind,
        number=next_number(kind),
        booking=booking,
        issued_at=now,
        issued_on=now.astimezone(business.clock).date(),
        about=booking.offering.title,
        supplied=days,
        seller={
            "name": business.name,
            "address": business.postal_address,
            "vat_number": business.vat_number if _shows_tax(lines, now=now) else "",
            "contact": f"{business.email} · {business.phone}",
            "bank_details": business.bank_details,
        },
        buyer=buyer,
        currency=currency_of(booking),
        lines=as_data(lines),
        total_minor=sum(one.gross_minor for one in lines),
        reference=creditor_reference(booking.code),
    )


def _shows_tax(lines: Sequence[Charged], *, now: datetime) -> bool:
    """Whether the paper is a VAT paper: tax is in what it is about, or whoever issues it is registered."""
    version = vat_version_on(house_day(now))
    return version is None or vat_policy_from(version.body).registered or any(one.basis_points for one in lines)
