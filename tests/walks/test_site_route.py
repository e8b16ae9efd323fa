"""A site's route: sent, refused, drawn, told in public or not, and held against a walk's minutes."""

from __future__ import annotations

from functools import partial

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from tests.bookings.race import together
from tests.cast import World
from tests.conftest import NOW
from tests.pages import signed_in, words_of
from tests.walks.compute.gpx_cases import REFUSED, gpx, point, round_walk_gpx, track
from tests.walks.sent import field_error
from walks.errors import RouteRefused
from walks.models import Site, SiteRoute
from walks.services.save_route import end_route, save_route
from walks.site_routes import does_not_fit, route_drawing, route_facts, route_profile

pytestmark = [pytest.mark.database, pytest.mark.usefixtures("september")]
WALK = "/walks/the-bare-wood-2026-10-03/"


def keep(world: World, content: bytes | None = None) -> SiteRoute:
    return save_route(world.wood, content or round_walk_gpx(), name="Ring", by=world.olive, now=NOW)


def send(world: World, content: bytes) -> object:
    sent = {"name": "Ring", "gpx": SimpleUploadedFile("x.gpx", content)}
    return signed_in(world.gwen.user).post(f"/staff/sites/{world.wood.public_id}/route/", sent, follow=True)


def test_a_route_is_sent_and_drawn(world: World) -> None:
    answer = send(world, round_walk_gpx())
    words = words_of(answer.content)
    assert "Ring : 2.8 km, 20 m up and 20 m down." in words
    assert answer.content.count(b"<svg ") == 2
    assert b"meet here" in answer.content
    assert Site.objects.get(pk=world.wood.pk).ascent_m == 20
    assert b"Brown" not in signed_in(world.olive).get(f"/staff/sites/{world.wood.public_id}/route.gpx").content


def test_a_second_one_takes_its_place_and_the_first_is_kept(world: World) -> None:
    first, second = keep(world), keep(world)
    assert SiteRoute.objects.get(current=True) == second
    assert not SiteRoute.objects.get(pk=first.pk).current
    end_route(world.wood, by=world.olive, now=NOW)
    assert route_facts(world.wood) is None
    assert (route_drawing(world.wood), route_profile(world.wood)) == ("", "")


@pytest.mark.parametrize("name", ["text", "billion laughs", "a file of ours", "nothing in it", "too many points"])
def test_a_bad_file_is_refused_at_its_field(world: World, name: str) -> None:
    content, why = REFUSED[name]
    answer = send(world, content)
    assert answer.status_code == 422
    fault = field_error(answer.content, "gpx")
    assert fault.startswith("The route was not kept.")
    assert why in fault
    assert "The site stands as it was." in fault
    assert not SiteRoute.objects.exists()


def test_a_route_of_another_place_is_refused(world: World) -> None:
    with pytest.raises(RouteRefused) as refused:
        keep(world, gpx(track([point(51.9316, -1.45), point(51.9326, -1.45)])))
    assert "no nearer to the meeting point than 111 km" in refused.value.sentence


def test_the_public_sees_the_drawing_only_where_the_site_allows_it(world: World) -> None:
    keep(world)
    page = Client().get(WALK).content
    assert "2.8 km, 20 m up and 20 m down" in words_of(page)
    assert b"meet here" not in page
    Site.objects.update(route_is_public=True)
    assert b"meet here" in Client().get(WALK).content


def test_a_walk_that_is_too_short_for_its_route_says_so(world: World) -> None:
    keep(world)
    facts = route_facts(world.wood)
    assert facts is not None
    assert does_not_fit(world.wood, facts.minutes) == ""
    assert "Make it longer, or walk part of the route." in does_not_fit(world.wood, facts.minutes - 1)
    world.offering.walks.update(minutes=60)
    page = words_of(signed_in(world.olive).get(f"/staff/walks/{world.offering.public_id}/").content)
    assert "the walk lasts 1 h. Make it longer" in page


def test_the_time_of_the_ring_by_hand(world: World) -> None:
    """2.8 km at 5 km/h are 34 min and 20 m up 2 more; a quarter and three tenths more, and 20 min a kilometre."""
    keep(world)
    facts = route_facts(world.wood)
    assert facts is not None
    assert facts.naismith == pytest.approx(36, abs=1)
    assert facts.minutes == pytest.approx(36 * 1.25 * 1.3 + 2.8 * 20, abs=3)


def test_a_route_without_heights_has_no_profile_and_says_so(world: World) -> None:
    keep(world, gpx(track([point(50.9316, -1.45), point(50.9326, -1.45)])))
    assert route_profile(world.wood) == ""
    assert "heights not recorded" in words_of(
        signed_in(world.olive).get(f"/staff/sites/{world.wood.public_id}/").content
    )
    assert Site.objects.get(pk=world.wood.pk).ascent_m is None


@pytest.mark.django_db(transaction=True)
def test_two_who_send_at_once_leave_one_current(real_world: World) -> None:
    outcomes = together([partial(keep, real_world)] * 4)
    assert [one.kind for one in outcomes] == ["done"] * 4
    assert SiteRoute.objects.filter(current=True).count() == 1
