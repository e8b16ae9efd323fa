"""The season as a chance: own finds, the turn of the year, and danger that is never silenced."""

from datetime import date, timedelta
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from curriculum.compute.account import Season
from curriculum.compute.circular import TURN, mean_direction, resultant_length
from curriculum.compute.phenology import (
    BEST,
    IN,
    LEAST,
    OUT,
    PEAK,
    PRIOR_WALKS,
    Chance,
    FindList,
    angle,
    chance_of_meeting,
    fit_of,
    level,
    nearness,
    prior_chance,
    season_curve,
)

YEAR = tuple(range(1, 13))
AUTUMN = Season((9, 10, 11), (10,))
WINTER = Season((11, 12, 1, 2), (12, 1))
TAXON = "cantharellus-cibarius"
PER_CENT = 0.01

days = st.dates(date(2024, 1, 1), date(2027, 12, 31))
months = st.sets(st.integers(1, 12), max_size=12)


@st.composite
def seasons(draw: st.DrawFn) -> Season:
    season = draw(months)
    return Season(
        tuple(sorted(season)), tuple(sorted(draw(st.sets(st.sampled_from(sorted(season)))) if season else ()))
    )


find_lists = st.lists(
    st.builds(FindList, days, st.sampled_from([frozenset(), frozenset([TAXON])]), st.booleans()), max_size=30
)
fits = st.tuples(*[st.sampled_from([True, False, None])] * 2).map(lambda pair: fit_of(*pair))


def every_day(year):
    return [date(year, 1, 1) + timedelta(days=place) for place in range(366 if year % 4 == 0 else 365)]


def chance(season=AUTUMN, day=date(2026, 10, 10), fit=1.0, lists=(), dangerous=False):
    return chance_of_meeting(TAXON, season, day, fit=fit, lists=lists, dangerous=dangerous)


@pytest.mark.parametrize("year", [2025, 2028])
def test_a_season_all_year_has_the_level_of_its_weight_on_every_day(year):
    assert [level(Season(YEAR), day) for day in every_day(year)] == pytest.approx([IN] * len(every_day(year)), rel=0.07)
    assert [level(Season(()), day) for day in every_day(year)] == pytest.approx([OUT] * len(every_day(year)), rel=0.07)
    assert [level(Season(YEAR, YEAR), day) for day in every_day(year)] == pytest.approx(
        [PEAK] * len(every_day(year)), rel=0.07
    )


@settings(max_examples=60, deadline=None)
@given(season=seasons(), year=st.sampled_from([2025, 2028]))
def test_the_level_weighs_what_the_months_weigh(season, year):
    of_month = {month: PEAK if month in season.peak else IN if month in season.months else OUT for month in YEAR}
    mean_weight = sum(of_month[day.month] for day in every_day(year)) / len(every_day(year))
    mean_level = sum(level(season, day) for day in every_day(year)) / len(every_day(year))

    assert mean_level == pytest.approx(mean_weight, abs=PER_CENT / 10)


@pytest.mark.parametrize("season", [AUTUMN, WINTER, Season((3,)), Season((4, 5, 9, 10, 11))])
def test_the_level_has_the_middle_of_the_months(season):
    year = every_day(2025)
    angles = [angle(day) for day in year]
    stepped = [PEAK if day.month in season.peak else IN if day.month in season.months else OUT for day in year]
    smooth = [level(season, day) for day in year]

    off = mean_direction(angles, smooth) - mean_direction(angles, stepped)

    assert min(abs(off), TURN - abs(off)) < TURN / 365  # one day
    assert resultant_length(angles, smooth) < resultant_length(angles, stepped)  # the season comes early or late


@settings(max_examples=60, deadline=None)
@given(season=seasons(), turn=st.sampled_from([2024, 2025, 2026, 2027]))
def test_the_year_has_no_seam(season, turn):
    last, first = date(turn, 12, 31), date(turn + 1, 1, 1)

    assert level(season, last) == pytest.approx(level(season, first), abs=0.12)
    assert nearness(last, first) > 0.99
    assert abs(chance(season, last).mean - chance(season, first).mean) < 4 * PER_CENT


def test_from_day_to_day_the_level_moves_no_more_at_the_turn_of_the_year_than_in_spring():
    spring, winter = Season((3, 4, 5), (4,)), Season((12, 1, 2), (1,))
    moved = [max(_moves(season)) for season in (spring, winter)]

    assert moved[1] == pytest.approx(moved[0], rel=0.1)  # April has 30 days


def _moves(season):
    year = [level(season, day) for day in (*every_day(2025), date(2026, 1, 1))]
    return [abs(later - earlier) for earlier, later in pairwise(year)]


@settings(max_examples=60, deadline=None)
@given(season=seasons(), day=days, month=st.integers(1, 12))
def test_another_month_or_another_peak_never_lowers_the_level(season, day, month):
    more = Season(tuple(sorted({*season.months, month})), season.peak)
    better = Season(more.months, tuple(sorted({*season.peak, month})))

    assert level(season, day) <= level(more, day) <= level(better, day)


@settings(max_examples=60, deadline=None)
@given(season=seasons(), day=days, fit=fits, lists=find_lists, dangerous=st.booleans())
def test_the_mean_lies_within_the_interval(season, day, fit, lists, dangerous):
    found = chance(season, day, fit, lists, dangerous)

    assert 0 <= found.low <= found.mean <= found.high <= 1


@settings(max_examples=60, deadline=None)
@given(season=seasons(), day=days, fit=fits, lists=find_lists, on=days, complete=st.booleans())
def test_one_more_find_raises_the_chance(season, day, fit, lists, on, complete):
    more = [*lists, FindList(on, frozenset([TAXON]), complete)]

    assert chance(season, day, fit, more).mean >= chance(season, day, fit, lists).mean
    near = [*lists, FindList(day, frozenset([TAXON]), complete)]
    assert chance(season, day, fit, near).mean > chance(season, day, fit, lists).mean


@settings(max_examples=60, deadline=None)
@given(season=seasons(), day=days, fit=fits, lists=find_lists, on=days)
def test_a_complete_list_without_it_never_raises_the_chance(season, day, fit, lists, on):
    more = [*lists, FindList(on, frozenset(), complete=True)]

    assert chance(season, day, fit, more).mean <= chance(season, day, fit, lists).mean
    near = [*lists, FindList(day, frozenset(), complete=True)]
    assert chance(season, day, fit, near).mean < chance(season, day, fit, lists).mean


@settings(max_examples=60, deadline=None)
@given(season=seasons(), day=days, fit=fits, lists=find_lists, on=days)
def test_a_casual_list_without_it_says_nothing(season, day, fit, lists, on):
    more = [*lists, FindList(on, frozenset(), complete=False)]

    assert chance(season, day, fit, more) == chance(season, day, fit, lists)


@settings(max_examples=60, deadline=None)
@given(season=seasons(), day=days, fit=fits, lists=find_lists)
def test_own_finds_never_lower_the_chance_of_a_dangerous_taxon(season, day, fit, lists):
    assert chance(season, day, fit, lists, dangerous=True).mean >= prior_chance(season, day, fit) * (1 - 1e-12)


def test_the_prior_counts_as_four_walks():
    day = date(2026, 10, 10)
    prior = prior_chance(AUTUMN, day, 1.0)

    same_day = [FindList(day, frozenset([TAXON]), complete=True)] * 6

    assert PRIOR_WALKS == 4
    assert chance(day=day, lists=same_day).mean == pytest.approx((4 * prior + 6) / (4 + 6))
    assert chance(day=day, lists=[FindList(day, frozenset(), True)] * 6).mean == pytest.approx(4 * prior / 10)


@pytest.mark.parametrize(
    ("habitat", "hosts", "factor"),
    [(True, True, 1), (None, True, 0.5), (None, None, 0.25), (False, True, 0.05), (False, None, 0.025)],
)
def test_the_ground_scales_the_chance(habitat, hosts, factor):
    day = date(2026, 10, 15)

    assert prior_chance(AUTUMN, day, fit_of(habitat, hosts)) == pytest.approx(factor * prior_chance(AUTUMN, day, 1.0))


def test_at_its_best_a_standard_walk_meets_it_mostly_and_far_out_of_season_hardly_ever():
    assert prior_chance(Season(YEAR, YEAR), date(2026, 7, 1), 1.0) == pytest.approx(BEST, rel=0.07)
    assert prior_chance(AUTUMN, date(2026, 4, 15), 1.0) == pytest.approx(BEST * OUT / PEAK, rel=0.07)
    assert prior_chance(AUTUMN, date(2026, 4, 15), 0.05) == LEAST == 0.005


def test_a_walk_a_month_away_tells_little_and_one_in_spring_nothing_of_autumn():
    assert nearness(date(2025, 10, 1), date(2026, 10, 1)) == 1
    assert nearness(date(2025, 1, 1), date(2025, 1, 31)) == pytest.approx(0.139, abs=0.001)
    assert nearness(date(2025, 4, 1), date(2025, 10, 1)) < 1e-6


def test_a_leap_day_is_a_day_like_others():
    for day in (date(2028, 2, 28), date(2028, 2, 29), date(2028, 3, 1)):
        assert angle(day) == pytest.approx(TURN * (day.timetuple().tm_yday - 0.5) / 366)
    assert angle(date(2028, 12, 31)) == pytest.approx(TURN - TURN / 732)


@settings(max_examples=60, deadline=None)
@given(season=seasons())
def test_a_strip_names_the_published_months_and_no_other(season):
    curve = season_curve(season)

    assert len(curve) == 24
    for half, share in enumerate(curve):
        assert (share > 0) == (half // 2 + 1 in {*season.months, *season.peak})
        assert (share == 1) == (half // 2 + 1 in season.peak)
        assert share <= 1


def test_a_strip_rises_to_its_peak_and_is_low_at_its_ends():
    curve = season_curve(AUTUMN)

    assert curve[16] < curve[17] < curve[18] == curve[19] == 1 > curve[20] > curve[21] > 0
    assert season_curve(WINTER)[23] == season_curve(WINTER)[0] == 1


@pytest.mark.parametrize(
    ("mean", "words"),
    [(0, "under 5 %"), (0.024, "under 5 %"), (0.026, "about 5 %"), (0.37, "about 35 %"), (1, "about 100 %")],
)
def test_a_chance_is_said_to_the_nearest_five_per_cent(mean, words):
    assert Chance(mean, 0, 1).words == words


def test_an_interval_is_said_with_its_weight():
    assert Chance(0.3, 0.02, 0.664).interval_words == "between 2 % and 66 %, nine times in ten"


@pytest.mark.parametrize(
    ("day", "mean", "low", "high"),
    [
        (date(2026, 10, 16), 0.697, 0.308, 0.967),  # at its best
        (date(2026, 9, 15), 0.300, 0.032, 0.690),  # in season
        (date(2026, 8, 31), 0.135, 0.001, 0.463),  # on its eve
        (date(2026, 4, 15), 0.0055, 0.0, 0.0167),  # far out of it
    ],
)
def test_the_figures_of_one_autumn_stay_as_they_were_agreed(day, mean, low, high):
    found = chance(AUTUMN, day)

    assert (found.mean, found.low, found.high) == pytest.approx((mean, low, high), abs=0.0006)


def test_the_bars_of_one_autumn_stay_as_they_were_agreed():
    flat = season_curve(Season((9, 10, 11)))

    assert season_curve(AUTUMN)[16:22] == pytest.approx((0.28, 0.50, 1, 1, 0.50, 0.28), abs=0.006)
    assert flat[16:22] == pytest.approx((0.50, 0.65, 0.66, 0.66, 0.65, 0.50), abs=0.006)
    assert max(season_curve(Season((2, 3, 4), (3,)))[2:4]) <= 5 / 6
