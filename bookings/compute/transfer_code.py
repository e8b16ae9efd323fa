"""The code that a banking app scans to fill in a credit transfer in euro: EPC069-12.

European Payments Council, "Quick Response Code: Guidelines to enable data capture for the initiation of a SEPA credit
transfer": version 002, error correction level M, at most 331 bytes, a creditor reference (ISO 11649) or a text but not
both. There is no such code for any other currency.
"""

from __future__ import annotations

from decimal import Decimal

from segno import helpers

CURRENCY = "EUR"


def transfer_svg(*, name: str, iban: str, bic: str, amount_minor: int, reference: str) -> str:
    """The code as an SVG that stands in a page, with its quiet zone of four modules.

    `amount_minor`: cents, 1 or more. `reference`: with or without blanks. Raises ValueError beyond the guideline's
    lengths.
    """
    code = helpers.make_epc_qr(
        name=name,
        iban=iban,
        amount=Decimal(amount_minor) / 100,
        reference=reference.replace(" ", ""),
        bic=bic or None,
        encoding="utf-8",
    )
    title = "Code for a transfer in your banking app"
    return str(code.svg_inline(border=4, dark="#000", light="#fff", omitsize=True, svgclass="qr-code", title=title))
