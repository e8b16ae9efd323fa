"""A walk or site whose time zone is not in the time-zone database, as another one may have written it: still shown."""

from __future__ import annotations

import pytest
from django.core.management import call_command
from django.test import Client
from django.urls import reverse

from bookings.services.book_places import book_places
from bookings.services.booking_link import booking_link
from tests.cast import World
from tests.pages import words_of
from walks.models import Site, Walk
from walks.queries import slug_of

pytestmark = [pytest.mark.database, pytest.mark.usefixtures("september")]
GONE = "Atlantis/Old_Town"


@pytest.fixture
def pages(world: World) -> list[str]:
    """Addresses on which the walk is shown."""
    booking = book_places(world.order(), by="participant", now=world.now)
    of, token = world.offering.public_id, booking_link(booking, now=world.now)
    staff = [reverse(name) for name in ("staff_today", "staff_walks", "staff_bookings")]
    staff += [reverse("staff_walk", args=[of]), reverse("staff_on_the_day", args=[of, 1])]
    ours = [reverse(name, args=[token]) for name in ("booking_page", "booking_ics", "booking_cancel")]
    public = [reverse("programme"), reverse("walks_feed"), reverse("walk_page", args=[slug_of(of)])]
    return [*staff, *ours, *public]


@pytest.mark.parametrize("model", [Walk, Site])
def test_every_page_answers_and_today_says_what_to_do(
    world: World, olive: Client, pages: list[str], model: type[Walk | Site]
) -> None:
    starts = world.walk.local_start
    model.objects.update(zone=GONE)
    assert {page: olive.get(page).status_code for page in pages} == dict.fromkeys(pages, 200)
    today = words_of(olive.get(reverse("staff_today")).content)
    assert "“The bare wood” on 3 October 2026 keeps time by a zone that the time-zone database does not know" in today
    assert "Choose the time zone of Cast Wood anew" in today
    assert Walk.objects.get().local_start.replace(tzinfo=None) == starts.replace(tzinfo=None)


def test_the_command_puts_the_walk_on_the_clock_of_its_site(world: World, olive: Client) -> None:
    Walk.objects.update(zone=GONE)
    call_command("recompute_times", verbosity=0)
    walk = Walk.objects.get()
    assert (walk.zone, walk.starts_at) == (world.wood.zone, world.walk.starts_at)
    assert GONE not in words_of(olive.get(reverse("staff_today")).content)
