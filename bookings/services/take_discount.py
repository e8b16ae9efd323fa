"""The step by which a booking uses a discount code."""

from __future__ import annotations

from datetime import datetime

from bookings.discounts import usable_code
from bookings.models import Booking, DiscountUse
from foraywright.floor.acts import require_act


def take_discount(booking: Booking, text: str, *, now: datetime) -> None:
    """Note that the booking uses the code `text`; nothing where it is empty. Raises NotBooked.

    The code is locked, after offering and walks: two parties would otherwise both have its last use.
    """
    require_act()
    if text:
        code = usable_code(text, booking.offering, now=now, lock=True)
        DiscountUse.objects.create(
            code=code, booking=booking, percent=code.percent, amount_minor=code.amount_minor, at=now
        )
