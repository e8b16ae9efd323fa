"""The daylight bar: where night ends, and labels that keep apart at every width."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import combinations
from typing import Literal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from foraywright.floor.compute.daylight_bar import DAY, Label, daylight_bar, placed

MIDNIGHT = datetime(2026, 12, 5)  # noqa: DTZ001, wall times of one zone


@dataclass(frozen=True)
class Light:
    civil_dawn: datetime | None = None
    sunrise: datetime | None = None
    sunset: datetime | None = None
    civil_dusk: datetime | None = None
    polar: Literal["day", "night"] | None = None


def at(hours: float) -> datetime:
    return MIDNIGHT + timedelta(hours=hours)


WINTER = Light(at(7), at(8), at(16), at(17))


def test_the_parts_of_a_winter_day_stand_at_their_shares_of_twenty_four_hours():
    bar = daylight_bar(WINTER, at(10), at(13))
    assert (bar.day.left, bar.day.width) == (33.33, 33.34)
    assert (bar.twilight.left, bar.twilight.width) == (29.17, 41.66)
    assert (bar.walk.left, bar.walk.width) == (41.67, 12.5)


def test_the_words_say_all_that_is_drawn():
    words = daylight_bar(WINTER, at(10), at(13)).words
    assert words == "Daylight: sunrise 8.00, walk 10 am to 1 pm, sunset 16.00, dark from 17.00"


@pytest.mark.parametrize(
    ("light", "day", "twilight", "words"),
    [
        (Light(polar="day"), 100.0, 100.0, "the sun does not set"),
        (Light(polar="night"), None, None, "the sun does not rise"),
        (Light(at(9), None, None, at(14), "night"), None, 20.83, "the sun does not rise"),
        (Light(None, at(2), at(22), None), 83.34, 100.0, "twilight all night"),
        (Light(at(1), at(2), at(24.5), at(25)), 91.67, 95.83, "sunset 0.30"),
    ],
)
def test_high_latitudes(light, day, twilight, words):
    bar = daylight_bar(light, at(10), at(13))
    assert (bar.day and bar.day.width) == day
    assert (bar.twilight and bar.twilight.width) == twilight
    assert words in bar.words


def test_a_walk_over_midnight_is_cut_at_midnight_and_its_end_is_said():
    bar = daylight_bar(WINTER, at(22), at(25))
    assert (bar.walk.left, bar.walk.width) == (91.67, 8.33)
    assert "10 pm to 1 am on Sunday 6 December 2026" in bar.words


def test_sunrise_and_sunset_of_a_very_short_day_both_find_room():
    bar = daylight_bar(Light(at(10), at(11.5), at(12.5), at(14)), at(10), at(12))
    sunrise, sunset = (label for label in bar.labels if label.above)
    assert (sunrise.text, sunset.text) == ("sunrise 11.30", "sunset 12.30")
    assert (sunrise.anchor, sunset.anchor) != ("middle", "middle")
    assert sunrise.right < sunset.left


def test_what_was_asked_for_last_is_left_out_first():
    wanted = [Label("w" * 30, 50, above=True), Label("x" * 30, 50, above=True), Label("y" * 30, 50, above=False)]
    assert [label.text[0] for label in placed(wanted)] == ["w", "y"]


minutes = st.lists(st.integers(0, DAY), min_size=4, max_size=4).map(sorted)


@given(minutes, st.integers(0, DAY - 1), st.integers(15, 600))
def test_no_label_touches_another_or_leaves_the_bar(sun, start, length):
    moments = [MIDNIGHT + timedelta(minutes=minute) for minute in sun]
    begins = MIDNIGHT + timedelta(minutes=start)
    bar = daylight_bar(Light(*moments), begins, begins + timedelta(minutes=length))
    assert any(label.text.startswith("walk") for label in bar.labels)
    assert all(label.left >= 0 and label.right <= 100 for label in bar.labels)
    for one, other in combinations(bar.labels, 2):
        assert one.above != other.above or one.right < other.left or other.right < one.left
