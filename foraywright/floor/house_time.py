"""The business's own clock. Days of money, papers and staff's work are counted by it; a walk keeps that of its site.

Pages take it as the time zone in which Django shows an instant. What writes a day asks here.
"""

from __future__ import annotations

from datetime import date, datetime, tzinfo

from django.utils import timezone

from foraywright.floor.models import Business


def house_clock() -> tzinfo:
    """The clock of the business; before there is one, that of the settings. One query."""
    business = Business.objects.only("zone").first()
    return timezone.get_default_timezone() if business is None else business.clock


def house_day(now: datetime) -> date:
    """The day that it is for the business. One query."""
    return now.astimezone(house_clock()).date()


def keep_house_time(*, now: datetime) -> None:
    """From here on whatever this thread prints shows instants by the business's clock. One query."""
    timezone.activate(house_clock())
