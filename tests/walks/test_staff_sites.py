"""The pages of sites: list, one site, add, change."""

from __future__ import annotations

import pytest
from django.test import Client

from foraywright.floor.models import AuditLine, FeedRevision
from tests.cast import World
from tests.conftest import NOW
from tests.pages import signed_in, words_of
from tests.walks.sent import field_error
from walks.models import LandownersPermission, Site, Walk, WalkChange

pytestmark = pytest.mark.usefixtures("september")

NEW = "/staff/sites/new/"


def typed(**changes: object) -> dict[str, object]:
    """A form that nothing is wrong with."""
    values = {
        "name": "New Wood",
        "zone": "Europe/London",
        "meeting_point": "the west gate",
        "reference": "SU 387 148",
        "habitats": ["broadleaved_wood"],
        "hazards": ["cattle"],
        "most_people": "12",
        "mobile_coverage": "patchy",
    }
    return values | changes


def test_a_site_is_added_as_it_was_typed(world: World) -> None:
    answer = signed_in(world.olive).post(NEW, typed(ground="SU 3901 1502", step_free="on"), follow=True)
    site = Site.objects.get(name="New Wood")
    assert answer.redirect_chain == [(f"/staff/sites/{site.public_id}/", 302)]
    assert (site.reference_as_typed, site.reference_datum, site.reference_precision_m) == ("SU 387 148", "OSGB36", 100)
    assert (site.ground_as_typed, site.ground_datum, site.ground_precision_m) == ("SU 3901 1502", "OSGB36", 10)
    assert site.ground_latitude != site.latitude
    assert (site.habitats, site.hazards, site.step_free) == (["broadleaved_wood"], ["cattle"], True)
    words = words_of(answer.content)
    assert "SU 3901 1502 (OSGB36, to 10 m) staff only" in words
    assert "Habitats broadleaved wood" in words


@pytest.mark.parametrize("reference", ["O 159 346", "31U DQ 482 119", "31N 448251 5411932", "51.1234, -3.6543"])
def test_a_reference_in_any_system_is_understood(world: World, reference: str) -> None:
    signed_in(world.olive).post(NEW, typed(reference=reference))
    assert Site.objects.get(name="New Wood").reference_as_typed == reference


@pytest.mark.parametrize("field", ["reference", "ground"])
def test_what_is_no_reference_is_told_what_a_good_one_looks_like(world: World, field: str) -> None:
    answer = signed_in(world.olive).post(NEW, typed(**{field: "behind the pub"}))
    assert answer.status_code == 422
    assert "“behind the pub” is no place that can be read. Write it as TG 514 131" in field_error(answer.content, field)
    assert b"behind the pub" in answer.content
    assert b"the west gate" in answer.content
    assert not Site.objects.filter(name="New Wood").exists()


def test_a_name_is_given_once(world: World) -> None:
    answer = signed_in(world.olive).post(NEW, typed(name="CAST wood"))
    assert "There is a site “CAST wood” already." in field_error(answer.content, "name")


def test_the_form_of_a_site_says_what_is_recorded(world: World) -> None:
    answer = signed_in(world.olive).get(f"/staff/sites/{world.wood.public_id}/edit/")
    assert answer.context["form"].initial["reference"] == "SU 387 148"
    assert answer.context["form"].initial["habitats"] == ["broadleaved_wood"]


def test_people_who_booked_are_told_where_they_meet_instead(world: World) -> None:
    walk, before = world.walk, FeedRevision.objects.get(feed="walks").revision
    edit = f"/staff/sites/{world.wood.public_id}/edit/"
    signed_in(world.olive).post(edit, typed(name="Cast Wood", meeting_point="the north gate", why="The bridge is out."))
    told = WalkChange.objects.get(walk=walk)
    assert (told.why, told.material, told.by) == ("The bridge is out.", True, world.olive.public_id)
    [what] = told.what
    assert what["before"] == "Cast Wood, the east gate, SU 387 148"
    assert what["after"] == "Cast Wood, the north gate, SU 387 148"
    after = Walk.objects.get(pk=walk.pk)
    assert (after.calendar_sequence, after.calendar_modified) == (walk.calendar_sequence + 1, NOW)
    assert FeedRevision.objects.get(feed="walks").revision == before + 1
    assert AuditLine.objects.filter(act="change site", object_id=world.wood.public_id).exists()


def test_another_going_is_no_other_place(world: World) -> None:
    edit = f"/staff/sites/{world.wood.public_id}/edit/"
    same = typed(name="Cast Wood", meeting_point="the east gate", going="muddy")
    signed_in(world.olive).post(edit, same)
    assert Site.objects.get(pk=world.wood.pk).going == "muddy"
    assert not WalkChange.objects.exists()
    assert Walk.objects.get(pk=world.walk.pk).calendar_sequence == world.walk.calendar_sequence


def test_the_ground_is_told_to_nobody_outside(world: World) -> None:
    Site.objects.update(ground_as_typed="SU 9999 9999", ground_latitude="51.777777", ground_longitude="-1.888888")
    slug = "the-bare-wood-2026-10-03"
    for address in (f"/walks/{slug}/", f"/walks/{slug}/walk.ics", "/calendar/walks.ics", "/", f"/walks/{slug}/book/"):
        content = Client().get(address)
        text = b"".join(content.streaming_content) if content.streaming else content.content
        assert content.status_code == 200
        assert not [one for one in (b"9999", b"777777", b"888888") if one in text], address


def test_the_list_names_a_site_that_is_shut_today(world: World) -> None:
    assert "until 31 December 2026" in words_of(signed_in(world.gwen.user).get("/staff/sites/").content)
    LandownersPermission.objects.update(closed_seasons=[["09-01", "09-30"]])
    assert "Shut today" in words_of(signed_in(world.gwen.user).get("/staff/sites/").content)


def test_the_list_costs_the_same_for_many(world: World, django_assert_max_num_queries: object) -> None:
    client = signed_in(world.olive)
    for number in range(12):
        site = Site.objects.get(pk=world.wood.pk)
        site.pk, site.public_id, site.name = None, f"site-{number}", f"Wood {number}"
        site.save()
    with django_assert_max_num_queries(10):  # type: ignore[operator]
        client.get("/staff/sites/")
