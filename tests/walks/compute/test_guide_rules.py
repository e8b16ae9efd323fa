"""What stands against sending a guide out: every rule at its edges."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from walks.compute.guide_rules import GuideRecord, Outing, Paper, objections

DAY = date(2026, 10, 7)
"""A Wednesday: its ISO week runs from 5 to 11 October."""
AID = Paper("first_aid", "The first-aid certificate", date(2026, 1, 1), date(2026, 12, 31))
GUIDE = GuideRecord("Ada", 2, frozenset({"fungus"}), (AID,), ())
OUTING = Outing(DAY, DAY, True, (("fungus", "fungi"),))


def sentences(guide: GuideRecord = GUIDE, outing: Outing = OUTING, other_days: tuple[date, ...] = ()) -> list[str]:
    return [one.sentence for one in objections(guide, outing, other_days)]


def test_nothing_stands_against_a_guide_whose_papers_are_in_order() -> None:
    assert sentences() == []


@pytest.mark.parametrize(
    ("first", "last", "refused"),
    [
        (DAY - timedelta(days=3), DAY - timedelta(days=1), False),
        (DAY - timedelta(days=3), DAY, True),
        (DAY, DAY + timedelta(days=3), True),
        (DAY + timedelta(days=1), DAY + timedelta(days=3), False),
    ],
)
def test_an_absence_holds_on_its_first_and_last_day(first: date, last: date, refused: bool) -> None:
    assert bool(sentences(replace(GUIDE, absences=((first, last),)))) is refused


def test_an_absence_is_said_with_its_days() -> None:
    one, more = (DAY, DAY), (DAY, date(2026, 10, 9))
    assert sentences(replace(GUIDE, absences=(one, more))) == [
        "Ada is away on 7 October 2026. Choose another guide or another day.",
        "Ada is away from 7 October 2026 to 9 October 2026. Choose another guide or another day.",
    ]


def test_a_walk_over_midnight_meets_an_absence_of_the_second_day() -> None:
    night = replace(OUTING, last_day=DAY + timedelta(days=1))
    tomorrow = replace(GUIDE, absences=((DAY + timedelta(days=1),) * 2,))
    assert sentences(tomorrow) == []
    assert len(sentences(tomorrow, night)) == 1


@pytest.mark.parametrize(
    ("first", "last", "words"),
    [
        (DAY, DAY, ""),
        (DAY - timedelta(days=9), DAY - timedelta(days=1), "ended on 6 October 2026, before 7 October 2026."),
        (DAY + timedelta(days=1), DAY + timedelta(days=9), "begins on 8 October 2026, after 7 October 2026."),
    ],
)
def test_a_certificate_holds_on_its_first_and_last_day(first: date, last: date, words: str) -> None:
    guide = replace(GUIDE, papers=(replace(AID, first_day=first, last_day=last),))
    remedy = "Renew it or choose another guide."
    assert sentences(guide) == ([f"The first-aid certificate of Ada {words} {remedy}"] if words else [])


def test_a_renewed_certificate_covers_for_the_old_one_of_its_kind_and_for_no_other() -> None:
    ended = replace(AID, last_day=DAY - timedelta(days=1))
    check = Paper("background_check", "The background check", date(2026, 1, 1), DAY - timedelta(days=1))
    assert sentences(replace(GUIDE, papers=(ended, AID))) == []
    assert len(sentences(replace(GUIDE, papers=(AID, check)))) == 1


def test_who_never_had_a_certificate_has_none_that_is_expired() -> None:
    assert sentences(replace(GUIDE, papers=())) == []


def test_the_week_runs_from_monday_to_sunday() -> None:
    monday, sunday = date(2026, 10, 5), date(2026, 10, 11)
    assert sentences(other_days=(monday,)) == []
    assert sentences(other_days=(monday - timedelta(days=1), monday, sunday + timedelta(days=1))) == []
    assert sentences(other_days=(monday, sunday)) == [
        "Ada goes out on at most 2 days a week; with 7 October 2026 it would be 3 from Monday to Sunday. "
        "Choose another guide or another week."
    ]


def test_two_outings_on_one_day_are_one_day() -> None:
    assert sentences(other_days=(DAY, DAY, DAY - timedelta(days=1), DAY - timedelta(days=1))) == []


def test_an_iso_week_over_the_new_year_is_one_week() -> None:
    new_year = Outing(date(2027, 1, 1), date(2027, 1, 1), False, ())
    guide = replace(GUIDE, days_a_week=1, papers=())
    assert [one.rule for one in objections(guide, new_year, [date(2026, 12, 28)])] == ["days_a_week"]


def test_only_whoever_leads_is_asked_what_they_may_lead() -> None:
    shore = replace(OUTING, asks=(("seaweed", "seaweeds"), ("night", "walks in the dark")))
    assert sentences(outing=shore) == [
        "Ada is not recorded as leading seaweeds. Choose another to lead.",
        "Ada is not recorded as leading walks in the dark. Choose another to lead.",
    ]
    assert sentences(outing=replace(shore, leads=False)) == []
    assert sentences(replace(GUIDE, may_lead=frozenset({"seaweed", "night"})), shore) == []
