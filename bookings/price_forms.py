"""What a booking form asks about prices: concessions and a discount code."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from django import forms

from bookings.compute.prices import Concession, PriceList
from foraywright.floor.compute.money import as_text


class CodeField(forms.CharField):
    """A discount code, as it was typed."""

    def __init__(self) -> None:
        super().__init__(
            label="Discount code",
            required=False,
            max_length=20,
            widget=forms.TextInput(attrs={"autocomplete": "off", "class": "short-field"}),
            error_messages={"max_length": "A discount code has at most 20 characters."},
        )


def field_of(concession: Concession) -> str:
    """The name of the form's field for people with the concession."""
    return f"at_{concession.key}"


def help_on(concession: Concession, currency: str) -> str:
    """What the concession costs, and what is shown for it on the day."""
    return f"{as_text(concession.price, currency)} each. On the day please show {concession.show}."


def too_many(prices: PriceList, bands: Sequence[str], data: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    """Fields that name more people at a concession than the party has of that age, with the sentence that says so."""
    left = Counter(bands)
    for one in prices.concessions:
        asked = data.get(field_of(one)) or 0
        if asked > left[one.band]:
            yield field_of(one), f"You wrote {asked}, and your party has {left[one.band]} of that age for it."
        left[one.band] -= asked


def spread(prices: PriceList, bands: Sequence[str], data: Mapping[str, Any]) -> tuple[str, ...]:
    """The key of each person's concession, or nothing, in the order of `bands`."""
    waiting = {one.key: data.get(field_of(one)) or 0 for one in prices.concessions}
    return tuple(_next(prices, band, waiting) for band in bands)


def _next(prices: PriceList, band: str, waiting: dict[str, int]) -> str:
    found = next((one.key for one in prices.concessions if one.band == band and waiting[one.key] > 0), "")
    if found:
        waiting[found] -= 1
    return found
