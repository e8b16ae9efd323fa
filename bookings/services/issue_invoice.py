"""Issue an invoice for what a booking owes, or a receipt for what came in."""

from __future__ import annotations

from datetime import datetime

from bookings.compute.invoices import Charged, not_invoiced
from bookings.errors import NotInvoiced
from bookings.models import Booking, Invoice, Transfer
from bookings.queries import TAKE_MONEY
from bookings.services.book_tax import book_tax
from bookings.services.invoicing import due_by_line, invoiced_by_key, issue
from bookings.services.locks import lock_booking
from foraywright.floor.acts import By, act, record


@act
def issue_invoice(booking: Booking, *, buyer: str, by: By, now: datetime) -> Invoice:
    """Issue an invoice to `buyer` (name and address as they are to be printed) for what was not invoiced yet.

    Where nothing is, the last invoice is returned: the button pressed twice makes one. Raises NotInvoiced. The booking
    is locked: its lines could change, or a second press invoice them too.
    """
    booking, _ = lock_booking(booking)
    lines = not_invoiced(due_by_line(booking), invoiced_by_key(booking))
    issued = _issue_or_last(booking, Invoice.Kind.INVOICE, lines, buyer, by=by, now=now)
    book_tax(booking, now=now)
    return issued


@act
def issue_receipt(booking: Booking, *, buyer: str, by: By, now: datetime) -> Invoice:
    """Issue a receipt to `buyer` for the payments that have none yet; else return the last one. Raises NotInvoiced.

    The booking is locked: a second press would else receipt the same payments.
    """
    booking, _ = lock_booking(booking)
    return _issue_or_last(booking, Invoice.Kind.RECEIPT, _not_receipted(booking), buyer, by=by, now=now)


def _not_receipted(booking: Booking) -> list[Charged]:
    receipts = booking.invoices.filter(kind=Invoice.Kind.RECEIPT).values_list("lines", flat=True)
    known = {one["key"] for lines in receipts for one in lines}
    came = booking.transfers.filter(kind=Transfer.Kind.PAYMENT, debit__key__in=TAKE_MONEY).select_related("debit")
    return [
        Charged(one.public_id, f"{one.debit.title}, {one.at.day} {one.at:%B %Y}", one.amount_minor, 0)
        for one in came.order_by("at", "pk")
        if one.public_id not in known
    ]


def _issue_or_last(booking: Booking, kind: str, lines: list[Charged], buyer: str, *, by: By, now: datetime) -> Invoice:
    last = booking.invoices.filter(kind=kind).last()
    if not lines and last is not None:
        return last
    if not lines:
        what = "charged" if kind == Invoice.Kind.INVOICE else "paid"
        raise NotInvoiced(f"There is nothing to write: nothing was {what} yet.", became="No number was used.")
    issued = issue(booking, kind, lines, buyer=buyer, now=now)
    record(f"issue {kind}", booking, by=by, now=now, fields=("invoices",), reason=issued.title)
    return issued
