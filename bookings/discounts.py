"""Discount codes: whether one may be used now, and what a booking got by one."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from django.db.models import Count, Q

from bookings.compute.prices import NO_DISCOUNT, Discount
from bookings.errors import NotBooked
from bookings.models import Booking, DiscountCode, DiscountUse
from foraywright.floor.house_time import house_day
from walks.models import Offering


def typed_code(text: str) -> str:
    """The code as it is kept, of what somebody typed: no spaces, capital letters."""
    return "".join(text.split()).upper()


def usable_code(text: str, offering: Offering, *, now: datetime, lock: bool = False) -> DiscountCode:
    """The discount code that `text` means, in three queries. Raises NotBooked where it cannot be used here and now.

    `lock`: under the lock of the code's row, so that its last use is not taken twice.
    """
    codes = DiscountCode.objects.select_for_update() if lock else DiscountCode.objects
    code = codes.filter(code=typed_code(text)).first()
    reasons = list(_reasons_against(code, text, offering, now=now))
    if code is None or reasons:
        raise NotBooked(
            "The discount code cannot be used.",
            why=reasons,
            became="Nothing is owed and no place was taken.",
            now="Take the code out, or write another.",
        )
    return code


def _reasons_against(code: DiscountCode | None, text: str, offering: Offering, *, now: datetime) -> Iterator[str]:
    if code is None:
        yield f"“{text[:20]}” is no discount code of ours."
        return
    today = house_day(now)
    if code.ended_at is not None or today > code.last_day:
        yield "It is over."
    elif today < code.first_day:
        yield f"It holds from {code.first_day.day} {code.first_day:%B %Y} on."
    if code.offering_id not in (None, offering.pk):
        yield "It is for another walk."
    if code.amount_minor and code.currency != offering.prices.body["currency"]:
        yield "It is in another currency."
    if code.most_uses is not None and uses_of(code, now=now) >= code.most_uses:
        yield "It has been used as often as it may be."


def uses_of(code: DiscountCode, *, now: datetime) -> int:
    """How often the code counts as used: a booking that is over gives its use back.

    Who waits since they paid too late, or may still choose another walk, keeps it: they come back at the price that
    they were told. Late money that fits buys at it too, though the code be used up: a price is frozen on its line.
    """
    return DiscountUse.objects.filter(_counting(now), code=code).count()


def uses_by_code(*, now: datetime) -> dict[int, int]:
    """The same for all codes, by key; none for a code that was never used. One query."""
    counted = DiscountUse.objects.filter(_counting(now)).values_list("code").annotate(number=Count("pk"))
    return dict(counted)


def _counting(now: datetime) -> Q:
    held = Q(booking__state=Booking.State.HELD, booking__held_until__gt=now)
    lasting = Q(booking__state__in=(Booking.State.CONFIRMED, Booking.State.WAITING))
    chooses = Q(booking__state=Booking.State.CALLED_OFF, booking__call_off_choice__choice="")
    return held | lasting | chooses


def discount_by(code: DiscountCode | DiscountUse) -> Discount:
    """What the code takes off."""
    return Discount(percent=code.percent, amount=code.amount_minor)


def discount_of(booking: Booking, offering: Offering) -> Discount:
    """What the booking got by its code, where that holds for `offering` too; the same after a move. One query."""
    uses = DiscountUse.objects.filter(Q(code__offering=None) | Q(code__offering=offering), booking=booking)
    use = uses.first()
    return discount_by(use) if use is not None else NO_DISCOUNT
