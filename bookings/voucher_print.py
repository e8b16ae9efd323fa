"""A voucher on paper: made in the request, never stored, since its code is money."""

from __future__ import annotations

import hashlib

from bookings.models import Voucher
from foraywright.floor.models import Business
from foraywright.floor.pdf import Pdf, render_pdf
from foraywright.floor.printing import render_document

SECONDS = 30


def voucher_html(voucher: Voucher) -> str:
    """The page: code, value at its issue, last day, how to use it, and how it is taxed."""
    return render_document("print/voucher.html", {"business": Business.objects.get(), "voucher": voucher})


def voucher_pdf(voucher: Voucher) -> Pdf:
    """The page as a PDF, within 30 seconds. Raises PdfFailed."""
    html = voucher_html(voucher)
    return render_pdf(html, identifier=hashlib.sha256(html.encode("utf-8")).hexdigest(), seconds=SECONDS)
