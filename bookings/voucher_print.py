"""A voucher on paper: made in the request, never stored, since its code is money."""

from __future__ import annotations

import hashlib
from typing import Any

from bookings.models import Voucher
from curriculum.drawings import figure_of
from curriculum.queries import AccountInUse, accounts_in_use, vocabulary
from foraywright.floor.models import Business
from foraywright.floor.pdf import Pdf, render_pdf
from foraywright.floor.printing import render_document

SECONDS = 30
SEAWEED = "seaweed"


def voucher_html(voucher: Voucher) -> str:
    """The page: code, value at its issue, last day, how to use it, and how it is taxed, beside a drawing."""
    context: dict[str, Any] = {"business": Business.objects.get(), "voucher": voucher}
    drawn = _ornament(voucher)
    if drawn is not None:
        context |= {"drawing": figure_of(drawn), "drawn_of": drawn.account.vernacular()}
    return render_document("print/voucher.html", context)


def _ornament(voucher: Voucher) -> AccountInUse | None:
    """A signed, taught account without a danger, always the same for the same voucher; None where there is none.

    Seaweeds are too long to be drawn well so small.
    """
    dangers = {key for key, term in vocabulary().terms["edibility"].items() if term.danger}
    taught = [
        one for one in accounts_in_use().values() if one.sign_off and one.account.tier and one.account.group != SEAWEED
    ]
    signed = [one for one in taught if one.account.edibility not in dangers]
    number = int.from_bytes(hashlib.sha256(voucher.public_id.encode()).digest()[:4])
    return signed[number % len(signed)] if signed else None


def voucher_pdf(voucher: Voucher) -> Pdf:
    """The page as a PDF, within 30 seconds. Raises PdfFailed."""
    html = voucher_html(voucher)
    return render_pdf(html, identifier=hashlib.sha256(html.encode("utf-8")).hexdigest(), seconds=SECONDS)
