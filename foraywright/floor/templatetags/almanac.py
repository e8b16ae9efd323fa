"""Filters of the almanac's pages. They are built in: no page needs to load them.

Times are taken as they come: give local wall times, no filter here converts a zone.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, datetime, time

from django import template
from django.utils.safestring import SafeString, mark_safe

from foraywright.floor.compute import clock_words, season_strip, short_codes
from foraywright.floor.compute.columns import in_columns
from foraywright.floor.compute.daylight_bar import DaylightBar, Light, daylight_bar
from foraywright.floor.compute.money import as_text
from foraywright.floor.compute.qr_code import qr_svg

register = template.Library()


@register.filter
def money(minor: int, currency: str) -> str:
    """Write minor units: {{ 5400|money:"GBP" }} is £54.00."""
    return as_text(int(minor), currency)


@register.filter
def percent(basis_points: int) -> str:
    """Write basis points: {{ 2000|percent }} is 20 %, {{ 550|percent }} is 5.5 %."""
    return f"{basis_points / 100:g} %"


@register.filter
def duration(minutes: int) -> str:
    """Write whole minutes: {{ 125|duration }} is 2 h 5 min."""
    return clock_words.duration(minutes)


@register.filter
def day_words(day: date) -> str:
    """Write a date or a local datetime: Saturday 5 December 2026."""
    return clock_words.day_words(day)


@register.filter
def short_day(day: date) -> str:
    """Write a date for a dense table: Sat 5 Dec."""
    return f"{day:%a} {day.day} {day:%b}"


@register.filter
def clock(moment: time | datetime) -> str:
    """Write a local time: 10 am, 10.30 am, 12 noon."""
    return clock_words.clock(moment)


@register.filter
def until(start: datetime, end: datetime) -> str:
    """Write a span of local times: {{ start|until:end }} is "10 am to 1 pm"."""
    return clock_words.clock_span(start, end)


@register.filter
def spoken(code: str) -> str:
    """Write a short code in groups: K7M 4QX R."""
    return short_codes.spoken(code)


@register.filter
def join_words(words: Iterable[object], joiner: str = "and") -> str:
    """Write a list as a sentence does: "a, b and c"; {{ list|join_words:"or" }}."""
    *first, last = [str(word) for word in words] or [""]
    return f"{', '.join(first)} {joiner} {last}" if first else last


@register.filter
def sentence(text: object) -> str:
    """Begin with a capital and end with a full stop, once: for reasons that come as fragments."""
    words = str(text).strip()
    return words[:1].upper() + words[1:].rstrip(".") + "." if words else ""


@register.filter
def season_bars(half_months: Sequence[float]) -> list[season_strip.Cell]:
    """Return the cells of a season strip for its template part."""
    return season_strip.cells(half_months)


@register.filter
def season_words(half_months: Sequence[float], mark: int | None = None) -> str:
    """Say what a season strip shows."""
    return season_strip.in_words(half_months, mark)


@register.simple_tag
def daylight_drawing(light: Light, start: datetime, end: datetime) -> DaylightBar:
    """Return the geometry of a daylight bar for its template part."""
    return daylight_bar(light, start, end)


@register.filter
def qr(address: str) -> SafeString:
    """The QR code of an address as an SVG."""
    return mark_safe(qr_svg(address))


@register.filter
def columns(items: Sequence[object], number: int) -> list[list[object]]:
    """Break a list into columns of about one length: {% for column in sheet.caveats|columns:2 %}."""
    return in_columns(items, number)
