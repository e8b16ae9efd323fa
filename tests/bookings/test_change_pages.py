"""The pages on which a draft or a published walk is changed, and what those who booked read of it."""

from __future__ import annotations

from datetime import date

import pytest
import time_machine
from bs4 import BeautifulSoup
from django.test import Client

from bookings.services.book_places import book_places
from bookings.services.booking_link import booking_link
from foraywright.floor.models import Slug
from tests.cast import World
from tests.conftest import NOW
from tests.pages import say_yes, words_of
from walks.models import Offering, Walk, WalkChange
from walks.services.schedule_walk import schedule_walk

pytestmark = pytest.mark.usefixtures("september")


def address(offering: Offering, *more: object) -> str:
    return "/".join(["/staff/walks", offering.public_id, *map(str, more), ""])


def session_form(world: World, **changes: object) -> dict[str, object]:
    """The cast's walk as its form sends it."""
    values = {
        "site": world.wood.pk,
        "local_date": "2026-10-03",
        "local_time": "10:00",
        "minutes": "180",
        "leads": world.gwen.pk,
        "others": [world.harry.pk],
        "helpers": [],
        "fold": "",
        "why": "The track is closed.",
    }
    return values | changes


def two_sessions(world: World) -> Offering:
    sessions = [world.session(local_date=date(2026, 10, day)) for day in (10, 17)]
    return schedule_walk(world.plan(*sessions, title="Two mornings"), by=world.olive, now=world.now)


def test_the_form_shows_what_there_is_and_sent_back_unchanged_says_so(world: World, olive: Client) -> None:
    page = address(world.offering, 1, "change")
    form = BeautifulSoup(olive.get(page).content, "html.parser")
    assert form.find(id="id_local_date")["value"] == "2026-10-03"
    assert [one["value"] for one in form.select("[name=others][checked]")] == [str(world.harry.pk)]
    answer = olive.post(page, session_form(world))
    assert answer.status_code == 422
    assert "Nothing is different." in words_of(answer.content)


def test_whoever_booked_reads_the_change_and_may_leave_for_free(world: World, olive: Client) -> None:
    booking = book_places(world.order(), by="participant", now=world.now)
    page = address(world.offering, 1, "change")
    assert "1 party will be told." in words_of(olive.get(page).content)
    with time_machine.travel(NOW.replace(hour=10), tick=False):
        answer = olive.post(page, session_form(world, local_time="11:00"), follow=True)
        assert "The walk is changed. Whoever booked will be told." in words_of(answer.content)
        own = words_of(Client().get(f"/booking/{booking_link(booking, now=world.now)}/").content)
    assert "Changed on 14 September 2026. Start: 11 am (was: 10 am). The track is closed." in own
    assert "you may cancel until it begins and get everything back" in own


def test_a_reason_must_be_given_for_a_published_walk_and_none_for_a_draft(world: World, olive: Client) -> None:
    answer = olive.post(address(world.offering, 1, "change"), session_form(world, local_time="11:00", why=""))
    assert answer.status_code == 422
    assert not WalkChange.objects.exists()
    draft = two_sessions(world)
    sent = session_form(world, local_date="2026-10-11", why="", others=[])
    assert olive.post(address(draft, 1, "change"), sent).status_code == 302
    assert draft.walks.get(number=1).local_date == date(2026, 10, 11)


def test_a_rule_that_stands_in_the_way_is_said_at_its_field(world: World, olive: Client) -> None:
    draft = two_sessions(world)
    sent = session_form(world, local_date="2026-10-03", local_time="12:00", others=[])
    answer = olive.post(address(draft, 1, "change"), sent)
    holder = BeautifulSoup(answer.content, "html.parser").find(id="div_id_leads")
    assert "Gwen Guide is out on “The bare wood” from 10:00" in holder.get_text()


def test_what_a_session_covers_is_kept_and_shown_in_public(world: World, olive: Client) -> None:
    sent = {"heading": "Bark and brackets", "theme": "", "points": "To cut a bracket\nTo smell it"}
    assert olive.post(address(world.offering, 1, "content"), sent).status_code == 302
    walk = Walk.objects.get(offering=world.offering)
    assert (walk.heading, walk.learning_points) == ("Bark and brackets", ["To cut a bracket", "To smell it"])
    slug = Slug.objects.get(object_id=world.offering.public_id).text
    assert "What is to be learnt: To cut a bracket To smell it" in words_of(Client().get(f"/walks/{slug}/").content)


def test_sessions_of_a_draft_are_added_and_taken_out(world: World, olive: Client) -> None:
    draft = two_sessions(world)
    olive.post(address(draft, "sessions", "new"), session_form(world, local_date="2026-10-24", others=[]))
    assert list(draft.walks.values_list("number", "local_date__day")) == [(1, 10), (2, 17), (3, 24)]
    say_yes(olive, address(draft, 1, "remove"))
    assert list(draft.walks.values_list("number", "local_date__day")) == [(1, 17), (2, 24)]
    say_yes(olive, address(draft, 1, "remove"))
    draft.refresh_from_db()
    assert draft.kind == "walk"
    text = words_of(say_yes(olive, address(draft, 1, "remove"), follow=True).content)
    assert "It is the only session." in text
    assert draft.walks.count() == 1


def test_a_published_course_keeps_its_sessions(world: World, olive: Client) -> None:
    assert "taken out of a draft only" in words_of(
        say_yes(olive, address(world.offering, 1, "remove"), follow=True).content
    )
    answer = olive.post(address(world.offering, "sessions", "new"), session_form(world, local_date="2026-10-24"))
    assert "Sessions are added to a draft only" in words_of(answer.content)
    assert world.offering.walks.count() == 1


def offering_form(world: World, **changes: object) -> dict[str, object]:
    values = {"theme": world.theme.pk, "title": "The bare wood", "lead": "", "fewest": "4"}
    return values | {"certificate_percent": "75"} | changes


def test_a_new_title_gives_a_new_address_and_raises_the_sequence(world: World, olive: Client) -> None:
    old = Slug.objects.get(object_id=world.offering.public_id).text
    olive.post(address(world.offering, "edit"), offering_form(world, title="Bark only"))
    walk = Walk.objects.get(offering=world.offering)
    assert (walk.calendar_sequence, walk.calendar_modified) == (1, NOW)
    assert Client().get(f"/walks/{old}/")["Location"] == "/walks/bark-only-2026-10-03/"


def test_fewer_people_raise_nothing(world: World, olive: Client) -> None:
    olive.post(address(world.offering, "edit"), offering_form(world, fewest="2"))
    world.offering.refresh_from_db()
    assert (world.offering.fewest, Walk.objects.get(offering=world.offering).calendar_sequence) == (2, 0)


def test_a_published_walk_keeps_its_theme(world: World, olive: Client) -> None:
    other = type(world.theme).objects.create(name="Shore", lead="Weed.")
    answer = olive.post(address(world.offering, "edit"), offering_form(world, theme=other.pk))
    assert answer.status_code == 422
    assert "people booked what its theme teaches" in words_of(answer.content)
