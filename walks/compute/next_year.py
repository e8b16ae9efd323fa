"""The counterpart of a day a year later."""

from __future__ import annotations

from datetime import date, timedelta

WEEKS = timedelta(weeks=52)


def a_year_later(day: date) -> date:
    """The same weekday nearest to the same date of the next year: 52 weeks later, one or two days earlier in the month.

    Our rule: people book by weekday. It must not be taken for the same tide: low water moves by hours.
    """
    return day + WEEKS
