"""Days and times of day as people here write them. They take local wall times; none is converted."""

from datetime import date, datetime, time


def day_words(day: date) -> str:
    """Return "Saturday 5 December 2026"."""
    return f"{day:%A} {day.day} {day:%B} {day.year}"


def clock(moment: time | datetime) -> str:
    """Return "10 am", "10.30 am", "12 noon" or "12 midnight"."""
    figures, half = _parts(moment)
    return f"{figures} {half}"


def clock_span(start: datetime, end: datetime) -> str:
    """Return "10 am to 1 pm"; an end on another day names it: "10 pm to 1 am on Sunday 6 December 2026"."""
    words = f"{clock(start)} to {clock(end)}"
    return words if start.date() == end.date() else f"{words} on {day_words(end)}"


def duration(minutes: int) -> str:
    """Return "2 h 5 min", "45 min" or "3 h"."""
    hours, rest = divmod(minutes, 60)
    parts = (f"{hours} h" if hours else "", f"{rest} min" if rest or not hours else "")
    return " ".join(part for part in parts if part)


def short_clock(moment: time | datetime) -> str:
    """Return "7.38" on the clock of twenty-four hours, as almanacs print sunrise and sunset."""
    return f"{moment.hour}.{moment.minute:02d}"


def short_span(start: time | datetime, end: time | datetime) -> str:
    """Return "10 to 1", without am and pm: only beside a drawing that shows the part of the day."""
    return f"{_parts(start)[0]} to {_parts(end)[0]}"


def _parts(moment: time | datetime) -> tuple[str, str]:
    hour = moment.hour % 12 or 12
    if moment.minute:
        return f"{hour}.{moment.minute:02d}", "am" if moment.hour < 12 else "pm"
    return str(hour), {0: "midnight", 12: "noon"}.get(moment.hour, "am" if moment.hour < 12 else "pm")
