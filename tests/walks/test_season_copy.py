"""A season copied a year forward: drafts on the same weekday, nothing twice, papers that end said once."""

from __future__ import annotations

from datetime import date, time, timedelta

import pytest
import time_machine
from bs4 import BeautifulSoup
from django.test import Client
from django.urls import reverse

from tests.cast import WALK_DAY, World
from tests.conftest import NOW
from walks.compute.next_year import a_year_later
from walks.errors import WalkNotCopied, WalkNotScheduled
from walks.models import InsuranceCover, Offering, Site
from walks.season_copy import offerings_of, papers_that_end, plan_of
from walks.services.copy_offering import copy_offering
from walks.services.publish_walk import publish_walk
from walks.services.schedule_walk import schedule_walk

LATER = NOW + timedelta(days=60)
ADDRESS = "/staff/walks/next-year/"
SEASON = {"first": "2026-09-01", "last": "2026-12-31"}


@pytest.fixture
def office(world: World) -> object:
    with time_machine.travel(LATER, tick=False):
        client = Client()
        client.force_login(world.olive)
        yield client


@pytest.mark.parametrize("day", [date(2026, 10, 3), date(2024, 2, 29), date(2027, 12, 31), date(2028, 1, 1)])
def test_a_year_later_is_the_same_weekday_nearest_to_the_date(day: date) -> None:
    later = a_year_later(day)
    assert later.weekday() == day.weekday()
    same = day.replace(year=day.year + 1, day=min(day.day, 28))
    assert abs((later - same).days) <= 3


def test_a_copy_is_a_draft_of_the_same_walk(world: World) -> None:
    copy = copy_offering(world.offering, by=world.olive, now=LATER)
    walk, was = copy.walks.get(), world.offering.walks.get()
    assert (copy.state, copy.title, copy.theme) == ("draft", "The bare wood", world.theme)
    assert walk.local_date == date(2027, 10, 2)
    assert (walk.local_time, walk.minutes, walk.site) == (was.local_time, was.minutes, was.site)
    assert [one.guide.name for one in walk.walk_guides.order_by("pk")] == ["Gwen Guide", "Harry Guide"]
    assert walk.calendar_uid != was.calendar_uid


def test_nothing_is_copied_twice(world: World) -> None:
    copy_offering(world.offering, by=world.olive, now=LATER)
    assert offerings_of(date(2026, 1, 1), date(2026, 12, 31)) == []
    with pytest.raises(WalkNotCopied):
        copy_offering(world.offering, by=world.olive, now=LATER)
    assert Offering.objects.count() == 2


def test_a_guide_who_is_gone_is_left_out_and_one_is_needed(world: World) -> None:
    type(world.gwen).objects.filter(pk=world.gwen.pk).update(active=False)
    [source] = offerings_of(date(2026, 1, 1), date(2026, 12, 31))
    assert [one.name for one in plan_of(source).sessions[0].staff] == ["Harry Guide"]
    type(world.gwen).objects.update(active=False)
    with pytest.raises(WalkNotScheduled):
        copy_offering(world.offering, by=world.olive, now=LATER)
    assert Offering.objects.count() == 1


def test_each_paper_that_ends_is_named_once_with_the_walks_that_need_it(world: World) -> None:
    session = world.session(local_date=WALK_DAY + timedelta(weeks=1))
    draft = schedule_walk(world.plan(session, title="Second"), by=world.olive, now=world.now)
    publish_walk(draft, by=world.olive, now=world.now)
    InsuranceCover.objects.update(valid_to=date(2027, 10, 5))
    plans = [plan_of(one) for one in offerings_of(date(2026, 1, 1), date(2026, 12, 31))]
    said = {one.words.split(" ends on")[0]: one.walks for one in papers_that_end(plans)}
    assert said == {
        "The landowner's permission for Cast Wood": 2,
        "The insurance cover": 1,
        "Gwen Guide: first aid": 2,
        "Gwen Guide: background check": 2,
        "Harry Guide: first aid": 1,
    }


def test_low_water_is_asked_for_anew_by_the_site(world: World, office: Client) -> None:
    world.walk.low_water = time(11)
    world.walk.save()
    assert not any("Low water" in one.words for one in papers_that_end([plan_of(world.offering)]))
    Site.objects.update(habitats=["rocky_shore"])
    page = BeautifulSoup(office.post(ADDRESS, SEASON | {"preview": "1"}).content, "html.parser")
    text = " ".join(page.get_text(" ").split())
    assert "To be seen to first" in text
    assert "Low water at Cast Wood is to be taken from a tide table 1 walk needs it" in text
    assert page.find("a", string="Low water at Cast Wood is to be taken from a tide table")["href"] == reverse(
        "staff_site", args=[world.wood.public_id]
    )


def test_the_page_shows_what_stands_in_the_way_and_copies_what_is_ticked(world: World, office: Client) -> None:
    assert office.post(ADDRESS, SEASON | {"last": "2026-08-01"}).status_code == 422
    page = BeautifulSoup(office.post(ADDRESS, SEASON | {"preview": "1"}).content, "html.parser")
    text = " ".join(page.get_text(" ").split())
    assert "It can be a draft, but not published:" in text
    assert "The landowner's permission for Cast Wood ends on Thursday 31 December 2026" in text
    assert Offering.objects.count() == 1
    ticked = [one["value"] for one in page.select("input[name=walk][checked]")]
    assert ticked == [world.offering.public_id]
    for _ in range(2):
        office.post(ADDRESS, SEASON | {"copy": "1", "walk": ticked})
    assert list(Offering.objects.exclude(pk=world.offering.pk).values_list("state", flat=True)) == ["draft"]
