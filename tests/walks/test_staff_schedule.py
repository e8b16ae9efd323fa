"""The one form of a walk, and the button that publishes it."""

from __future__ import annotations

from datetime import timedelta

import pytest
import time_machine
from bs4 import BeautifulSoup
from django.test import Client

from tests.cast import World, make_user
from tests.pages import say_yes, signed_in, words_of
from walks.models import InsuranceCover, Offering, Walk

pytestmark = pytest.mark.usefixtures("september")

NEW = "/staff/walks/new/"


def typed(world: World, **changes: object) -> dict[str, object]:
    """A form that nothing is wrong with."""
    values = {
        "theme": world.theme.pk,
        "title": "Late brackets",
        "site": world.wood.pk,
        "local_date": "2026-10-10",
        "local_time": "10:00",
        "minutes": "180",
        "leads": world.gwen.pk,
        "others": [],
        "helpers": [],
        "fewest": "4",
        "fold": "",
    }
    return values | changes


def field_error(content: bytes, field: str) -> str:
    """What stands at a field as its fault."""
    holder = BeautifulSoup(content, "html.parser").find(id=f"div_id_{field}")
    assert holder is not None, field
    return " ".join(one.get_text(" ", strip=True) for one in holder.select(".invalid-feedback"))


def test_what_is_typed_becomes_a_draft_and_its_page_is_shown(world: World) -> None:
    sent = typed(
        world, leads=world.harry.pk, others=[world.gwen.pk, world.harry.pk], helpers=[world.gwen.pk], fewest="6"
    )
    answer = signed_in(world.olive).post(NEW, sent, follow=True)
    offering = Offering.objects.get(title="Late brackets")
    assert answer.redirect_chain == [(f"/staff/walks/{offering.public_id}/", 302)]
    assert "The walk is a draft. This is what follows from it." in words_of(answer.content)
    assert (offering.created_by, offering.fewest, offering.lead) == (world.olive, 6, world.theme.lead)
    roles = list(offering.walks.get().walk_guides.order_by("pk").values_list("guide__name", "role"))
    assert roles == [("Harry Guide", "leads"), ("Gwen Guide", "guides")]


def test_without_a_title_it_takes_the_name_of_the_theme(world: World) -> None:
    signed_in(world.gwen.user).post(NEW, typed(world, title=""))
    assert Offering.objects.get(state="draft").title == "Winter wood"


@pytest.mark.parametrize(
    ("changes", "field", "sentence"),
    [
        (
            {"local_date": "2026-10-03", "local_time": "12:00"},
            "leads",
            "Gwen Guide is out on “The bare wood” from 10:00",
        ),
        ({"local_date": "2026-09-13"}, "local_date", "lies in the past. Choose a later time."),
        ({"local_date": "9999-12-31"}, "local_date", "is more than three years away. Look at the year."),
        ({"local_date": "2027-03-28", "local_time": "01:30"}, "local_time", "does not exist in Europe/London"),
        ({"local_date": "2026-10-25", "local_time": "01:30"}, "local_time", "comes twice in Europe/London"),
        ({"local_time": "17:30"}, "is_night_walk", "or declare it a night walk."),
        ({"minutes": "5"}, "minutes", "A walk lasts from 15 minutes to 12 hours."),
        ({"minutes": "99999999999999999999"}, "minutes", "A walk lasts from 15 minutes to 12 hours."),
        ({"leads": ""}, "leads", "This field is required."),
    ],
)
def test_a_refusal_stands_at_its_field_and_nothing_typed_is_lost(
    world: World, changes: dict[str, object], field: str, sentence: str
) -> None:
    answer = signed_in(world.olive).post(NEW, typed(world, **changes))
    assert answer.status_code == 422
    assert sentence in field_error(answer.content, field)
    page = BeautifulSoup(answer.content, "html.parser")
    assert page.title.get_text().startswith("Error")
    for name, value in typed(world, **changes).items():
        element = page.find(attrs={"name": name})
        if element.name == "input" and element["type"] != "checkbox":
            assert element.get("value", "") == value, name
    assert Offering.objects.count() == 1


def test_the_same_form_sent_twice_does_not_send_the_guide_out_twice(world: World) -> None:
    olive = signed_in(world.olive)
    assert olive.post(NEW, typed(world)).status_code == 302
    again = olive.post(NEW, typed(world))
    assert again.status_code == 422
    assert "Gwen Guide is out on “Late brackets” from 10:00" in field_error(again.content, "leads")
    assert Walk.objects.count() == 2


def test_a_repeated_hour_is_taken_as_answered(world: World) -> None:
    sent = typed(world, local_date="2026-10-25", local_time="01:30", minutes="60", fold="1", is_night_walk="on")
    assert signed_in(world.olive).post(NEW, sent).status_code == 302
    assert Walk.objects.get(local_date="2026-10-25").fold == 1


def test_who_may_and_which_methods(world: World) -> None:
    for user, status in ((world.olive, 200), (world.gwen.user, 200), (world.rosa, 403), (make_user("nobody"), 403)):
        assert signed_in(user).get(NEW).status_code == status, user
    assert Client().get(NEW)["Location"] == f"/accounts/login/?next={NEW}"
    assert Client().post(NEW, typed(world)).status_code == 302
    assert signed_in(world.rosa).post(NEW, typed(world)).status_code == 403
    assert signed_in(world.olive).put(NEW).status_code == 405
    assert Offering.objects.count() == 1


@pytest.fixture
def draft(world: World) -> Offering:
    signed_in(world.olive).post(NEW, typed(world))
    return Offering.objects.get(state="draft")


def test_the_button_publishes_once_and_says_so(world: World, draft: Offering) -> None:
    olive, address = signed_in(world.olive), f"/staff/walks/{draft.public_id}/publish/"
    page = olive.get(f"/staff/walks/{draft.public_id}/").content.decode()
    assert f'action="{address}"' in page
    answer = say_yes(olive, address, follow=True)
    assert "The walk is on the public programme." in words_of(answer.content)
    assert f'action="{address}"' not in answer.content.decode()
    answer = olive.post(address, follow=True)
    assert "“Late brackets” is published already. Nothing was changed." in words_of(answer.content)


def test_the_button_says_everything_that_stands_against_it(world: World, draft: Offering) -> None:
    InsuranceCover.objects.all().delete()
    draft.walks.get().walk_guides.all().delete()
    answer = say_yes(signed_in(world.gwen.user), f"/staff/walks/{draft.public_id}/publish/", follow=True)
    assert (
        "“Late brackets” was not published. No insurance cover is in force on 2026-10-10. Nobody on the walk of "
        "2026-10-10 has a first-aid certificate in date that day. It stays a draft. Put these right first."
    ) in words_of(answer.content)
    draft.refresh_from_db()
    assert draft.state == "draft"


def test_a_draft_left_until_it_is_over_is_not_published(world: World, draft: Offering) -> None:
    with time_machine.travel(draft.walks.get().starts_at + timedelta(minutes=1), tick=False):
        answer = say_yes(signed_in(world.olive), f"/staff/walks/{draft.public_id}/publish/", follow=True)
    assert "The walk of 2026-10-10 lies in the past." in words_of(answer.content)


def test_publishing_is_a_post_of_office_and_guides(world: World, draft: Offering) -> None:
    address = f"/staff/walks/{draft.public_id}/publish/"
    assert signed_in(world.olive).get(address).status_code == 405
    assert signed_in(world.rosa).post(address).status_code == 403
    assert Client().post(address).status_code == 302
    assert signed_in(world.olive).post("/staff/walks/nothing/publish/").status_code == 404
    draft.refresh_from_db()
    assert draft.state == "draft"
