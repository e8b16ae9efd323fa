"""The steps by which a booking uses a discount code, and those who leave give up their share of it."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from django.db.models import F
from django.db.models.functions import Greatest

from bookings.discounts import usable_code
from bookings.models import Booking, BookingLine, DiscountUse
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


def give_up_shares(booking: Booking, gone: Iterable[BookingLine]) -> None:
    """The step by which who leaves takes along their share of an amount: a later move takes off what the others have.

    Who came for nothing had no share.
    """
    require_act()
    share = sum(one.discount_minor for one in gone if one.net_minor)
    uses = DiscountUse.objects.filter(booking=booking, amount_minor__gt=0)
    uses.update(amount_minor=Greatest(F("amount_minor") - share, 0))
