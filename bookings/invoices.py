"""Invoices, credit notes and receipts in print: made from the frozen row alone, so a copy says what the first said."""

from __future__ import annotations

import hashlib
from datetime import date

from bookings.compute.invoices import from_data, rates_of, rows_of
from bookings.compute.references import in_groups
from bookings.models import Invoice
from foraywright.floor.pdf import Pdf, render_pdf
from foraywright.floor.printing import render_document

SECONDS = 30


def invoice_html(invoice: Invoice) -> str:
    """The paper as HTML. No query."""
    lines = from_data(invoice.lines)
    taxed = bool(invoice.seller["vat_number"]) and invoice.kind != Invoice.Kind.RECEIPT
    context = {
        "invoice": invoice,
        "seller": invoice.seller,
        "days": [date.fromisoformat(one) for one in invoice.supplied],
        "rows": rows_of(lines),
        "rates": rates_of(lines) if taxed else [],
        "reference": in_groups(invoice.reference),
    }
    return render_document("print/invoice.html", context)


def invoice_pdf(invoice: Invoice) -> Pdf:
    """The same as a PDF, within 30 seconds. Raises PdfFailed. Never stored: it names its buyer."""
    html = invoice_html(invoice)
    return render_pdf(html, identifier=hashlib.sha256(html.encode("utf-8")).hexdigest(), seconds=SECONDS)
