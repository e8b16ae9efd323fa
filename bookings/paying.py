"""How a booking's page lets somebody pay."""

from __future__ import annotations

from django.utils.safestring import SafeString, mark_safe

from bookings.compute.transfer_code import CURRENCY, transfer_svg
from bookings.shown import BookingPage
from foraywright.floor.models import Business


def transfer_code_of(page: BookingPage) -> SafeString | None:
    """The code that fills in the transfer which the page asks for; None where it asks for none, or not in euro.

    One query, for euro only.
    """
    return transfer_code(page.currency, page.dues.first, page.reference)


def transfer_code(currency: str, amount_minor: int, reference: str) -> SafeString | None:
    """The same of any transfer to us."""
    if currency != CURRENCY or amount_minor <= 0:
        return None
    business = Business.objects.get()
    if not business.iban or not business.account_name:
        return None
    code = transfer_svg(
        name=business.account_name,
        iban=business.iban,
        bic=business.bic,
        amount_minor=amount_minor,
        reference=reference,
    )
    return mark_safe(code)
