"""The form of a course: sessions come and go by buttons, and every fault stands at its session."""

from __future__ import annotations

import pytest
from bs4 import BeautifulSoup
from django.test import Client

from tests.cast import World
from walks.models import Offering

pytestmark = pytest.mark.usefixtures("september")

NEW = "/staff/courses/new/"


def typed(world: World, *days: str, **changes: object) -> dict[str, object]:
    """A course with a session on each of `days` that nothing is wrong with."""
    values: dict[str, object] = {
        "theme": world.theme.pk,
        "title": "Three mornings",
        "lead": "",
        "fewest": "4",
        "certificate_percent": "60",
        "sessions": str(len(days)),
    }
    for number, day in enumerate(days):
        one = {"site": world.wood.pk, "local_date": day, "local_time": "10:00", "minutes": "150", "fold": ""}
        people = {"leads": world.gwen.pk, "others": [], "helpers": [world.harry.pk], "heading": f"Part {number + 1}"}
        values |= {f"session-{number}-{field}": value for field, value in (one | people).items()}
    return values | changes


def values_of(content: bytes, field: str) -> list[str]:
    page = BeautifulSoup(content, "html.parser")
    return [one.get("value", "") for one in page.select(f"input[name$='-{field}']")]


def test_what_is_typed_becomes_a_draft_course(world: World, olive: Client) -> None:
    answer = olive.post(NEW, typed(world, "2026-10-10", "2026-10-17", "2026-10-31"), follow=True)
    course = Offering.objects.get(title="Three mornings")
    assert answer.redirect_chain == [(f"/staff/walks/{course.public_id}/", 302)]
    assert (course.kind, course.certificate_percent, course.lead) == ("course", 60, world.theme.lead)
    sessions = list(course.walks.values_list("number", "local_date__day", "heading"))
    assert sessions == [(1, 10, "Part 1"), (2, 17, "Part 2"), (3, 31, "Part 3")]


def test_a_button_adds_a_session_a_week_later_and_keeps_what_was_typed(world: World, olive: Client) -> None:
    answer = olive.post(NEW, typed(world, "2026-10-10", "2026-10-17", add=""))
    assert answer.status_code == 200
    assert values_of(answer.content, "local_date") == ["2026-10-10", "2026-10-17", "2026-10-24"]
    assert values_of(answer.content, "heading") == ["Part 1", "Part 2", ""]
    page = BeautifulSoup(answer.content, "html.parser")
    assert [one["value"] for one in page.select("[name=session-2-helpers][checked]")] == [str(world.harry.pk)]
    assert page.select_one("#id_title")["value"] == "Three mornings"
    assert Offering.objects.filter(title="Three mornings").count() == 0


def test_a_button_takes_the_named_session_away(world: World, olive: Client) -> None:
    answer = olive.post(NEW, typed(world, "2026-10-10", "2026-10-17", "2026-10-24", drop="1"))
    assert values_of(answer.content, "local_date") == ["2026-10-10", "2026-10-24"]
    assert values_of(answer.content, "heading") == ["Part 1", "Part 3"]


@pytest.mark.parametrize("drop", ["9", "x", ""])
def test_a_session_that_is_not_there_is_not_taken_away(world: World, olive: Client, drop: str) -> None:
    answer = olive.post(NEW, typed(world, "2026-10-10", "2026-10-17", drop=drop))
    assert values_of(answer.content, "local_date") == ["2026-10-10", "2026-10-17"]


def test_no_more_sessions_than_twenty_however_many_are_claimed(world: World, olive: Client) -> None:
    answer = olive.post(NEW, typed(world, "2026-10-10", add="", sessions="999999"))
    assert len(values_of(answer.content, "local_date")) == 20


def test_an_unreadable_date_is_copied_as_none(world: World, olive: Client) -> None:
    answer = olive.post(NEW, typed(world, "next week", add=""))
    assert values_of(answer.content, "local_date") == ["next week", ""]


def test_a_refusal_stands_at_the_session_that_it_speaks_of(world: World, olive: Client) -> None:
    answer = olive.post(NEW, typed(world, "2026-10-10", "2026-09-01"))
    assert answer.status_code == 422
    page = BeautifulSoup(answer.content, "html.parser")
    assert "lies in the past" not in page.find(id="div_id_session-0-local_date").get_text()
    assert "lies in the past" in page.find(id="div_id_session-1-local_date").get_text()
    assert Offering.objects.filter(title="Three mornings").count() == 0


def test_all_faults_of_all_parts_are_shown_at_once(world: World, olive: Client) -> None:
    sent = typed(world, "2026-10-10", "", title="")
    answer = olive.post(NEW, sent)
    page = BeautifulSoup(answer.content, "html.parser")
    assert page.find(id="div_id_title").select(".invalid-feedback")
    assert page.find(id="div_id_session-1-local_date").select(".invalid-feedback")
    assert values_of(answer.content, "local_date") == ["2026-10-10", ""]


def test_an_untouched_form_begins_with_two_sessions(olive: Client) -> None:
    assert len(values_of(olive.get(NEW).content, "local_date")) == 2
