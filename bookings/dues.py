"""What sold bookings are still to pay, and by when."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from django.db.models import Prefetch, QuerySet

from bookings.compute.dues import Dues, dues
from bookings.compute.prices import price_list_from
from bookings.models import Booking, BookingLine, Transfer
from bookings.queries import OWED, balance, paid, paid_of_each
from bookings.quotes import first_part
from walks.models import Walk


def deposit_of(booking: Booking, lines: Sequence[BookingLine], first: Walk) -> tuple[int, date] | None:
    """The deposit and the day of the rest, as at the booking. No query where prices are selected."""
    if not lines or booking.pay_by is None:
        return None
    price, since = sum(one.net_minor for one in lines), booking.agreed_at or booking.booked_at
    return first_part(price, price_list_from(lines[0].prices.body).deposit, first, now=since)


def dues_of(booking: Booking) -> Dues:
    """What `booking` is still to pay. Four queries, three without a deposit."""
    lines = list(booking.lines.filter(ended_at=None).select_related("prices"))
    deposit = deposit_of(booking, lines, booking.offering.walks.earliest("starts_at"))
    return dues(balance(booking), paid(booking) if deposit else 0, pay_by=booking.pay_by, deposit=deposit)


@dataclass(frozen=True, slots=True)
class Unpaid:
    """A sold booking that owes: what comes first, in which currency, by which day; `today` at the walk's place.

    Who pays where we meet owes from the day of the walk on.
    """

    booking: Booking
    dues: Dues
    currency: str
    by: date
    today: date

    @property
    def is_overdue(self) -> bool:
        return self.by < self.today


def unpaid(bookings: QuerySet[Booking], *, now: datetime) -> Iterator[Unpaid]:
    """Those of `bookings` that are sold and owe. Seven queries whatever their number: policies are few, and shared."""
    sold = Transfer.objects.filter(booking__in=bookings.filter(state=Booking.State.CONFIRMED))
    owed = dict(sold.values_list("booking").annotate(sum=OWED).filter(sum__gt=0))
    running = BookingLine.objects.filter(ended_at=None).prefetch_related("prices")
    walks = Walk.objects.order_by("starts_at")
    owing = Booking.objects.filter(pk__in=owed).order_by("pk").select_related("offering", "party__contact")
    received = paid_of_each(owing)
    shared = Prefetch("lines", running), Prefetch("offering__walks", walks), "offering__prices"
    for one in owing.prefetch_related(*shared):
        yield _unpaid(one, owed[one.pk], received[one.pk], now=now)


def _unpaid(booking: Booking, owed: int, received: int, *, now: datetime) -> Unpaid:
    lines, first = list(booking.lines.all()), booking.offering.walks.all()[0]
    deposit = deposit_of(booking, lines, first)
    split = dues(owed, received if deposit else 0, pay_by=booking.pay_by, deposit=deposit)
    today = now.astimezone(first.clock).date()
    currency = lines[0].currency if lines else booking.offering.prices.body["currency"]
    return Unpaid(booking, split, currency, split.by or first.local_date, today)
