"""Templates: kept from an offering, tried against every rule, scheduled on the dates that are ticked."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from bs4 import BeautifulSoup
from django.test import Client

from foraywright.floor.models import AuditLine, Counter, FeedRevision, Slug
from tests.cast import WALK_DAY, World
from tests.pages import say_yes, words_of
from walks.errors import TemplateNotSaved
from walks.models import GuideAbsence, LandownersPermission, Offering, OfferingTemplate, Walk
from walks.services.rehearse import rehearse
from walks.services.save_template import save_template
from walks.services.schedule_walk import schedule_walk

pytestmark = pytest.mark.usefixtures("september")


@pytest.fixture
def template(world: World) -> OfferingTemplate:
    return save_template(world.offering, "Saturday wood", by=world.olive, now=world.now)


def asked(world: World, **changes: object) -> dict[str, object]:
    values = {"first": "2026-10-10", "every": "7", "times": "3", "leads": world.gwen.pk, "others": [], "helpers": []}
    return values | changes


def test_it_keeps_everything_but_dates_and_guides(world: World) -> None:
    sessions = [
        world.session(local_date=date(2026, 10, 14), heading="Bark", points="To cut", covers=()),
        world.session(local_date=date(2026, 10, 24), minutes=120),
    ]
    course = schedule_walk(world.plan(*sessions, title="Two mornings", fewest=3), by=world.olive, now=world.now)
    kept = save_template(course, "Two", by=world.olive, now=world.now)
    assert (kept.title, kept.theme, kept.fewest, kept.prices) == ("Two mornings", world.theme, 3, course.prices)
    found = list(kept.sessions.values_list("number", "days_after", "minutes", "heading", "points"))
    assert found == [(1, 0, 180, "Bark", "To cut"), (2, 10, 120, "", "")]


def test_a_name_is_given_once(world: World, template: OfferingTemplate) -> None:
    with pytest.raises(TemplateNotSaved, match="There is a template “Saturday wood” already"):
        save_template(world.offering, "Saturday wood", by=world.olive, now=world.now)


def test_the_preview_says_for_each_date_what_stands_in_the_way_and_writes_nothing(
    world: World, olive: Client, template: OfferingTemplate
) -> None:
    GuideAbsence.objects.create(guide=world.gwen, first_day=date(2026, 10, 17), last_day=date(2026, 10, 17))
    LandownersPermission.objects.update(valid_to=date(2026, 10, 20))
    tables = (Offering, Walk, Slug, AuditLine, FeedRevision, Counter)
    before = [list(table.objects.values()) for table in tables]
    answer = olive.post(f"/staff/templates/{template.public_id}/", asked(world) | {"preview": ""})
    page = BeautifulSoup(answer.content, "html.parser")
    rows = [" ".join(row.get_text(" ").split()) for row in page.select("tbody tr")]
    assert rows[0] == "Saturday 10 October 2026 nothing"
    assert rows[1].startswith("cannot be Saturday 17 October 2026 Gwen Guide is away on 17 October 2026.")
    assert rows[2].startswith("Saturday 24 October 2026 It can be a draft, but not published: ")
    assert [one["value"] for one in page.select("[name=day][checked]")] == ["2026-10-10"]
    assert [list(table.objects.values()) for table in tables] == before


def test_dates_that_take_the_last_day_from_one_another_are_found(world: World, template: OfferingTemplate) -> None:
    LandownersPermission.objects.update(days_a_year=2)
    plans = [world.plan(world.session(local_date=WALK_DAY + timedelta(weeks=n))) for n in (1, 2, 3)]
    assert [one.passes for one in rehearse(plans, by=world.olive, now=world.now).plans] == [True, False, False]
    world.gwen.days_a_week = 2
    world.gwen.save()
    LandownersPermission.objects.update(days_a_year=20)
    plans = [world.plan(world.session(local_date=date(2026, 10, day))) for day in (12, 13, 14)]
    tried = rehearse(plans, by=world.olive, now=world.now).plans
    assert [one.passes for one in tried] == [True, True, False]
    assert "at most 2 days a week" in tried[2].refused[0]


def test_the_ticked_dates_become_drafts(world: World, olive: Client, template: OfferingTemplate) -> None:
    sent = asked(world, every="14", helpers=[world.harry.pk]) | {"schedule": "", "day": ["2026-10-10", "2026-11-07"]}
    text = words_of(olive.post(f"/staff/templates/{template.public_id}/", sent, follow=True).content)
    assert "2 drafts scheduled." in text
    drafts = Offering.objects.filter(state="draft")
    assert sorted(drafts.values_list("walks__local_date", flat=True)) == [date(2026, 10, 10), date(2026, 11, 7)]
    walk = drafts[0].walks.get()
    assert list(walk.walk_guides.values_list("guide__name", "role")) == [
        ("Gwen Guide", "leads"),
        ("Harry Guide", "helps"),
    ]


def test_a_date_that_was_taken_meanwhile_is_named_and_the_others_stand(
    world: World, olive: Client, template: OfferingTemplate
) -> None:
    sent = asked(world) | {"schedule": "", "day": ["2026-10-10", "2026-10-17"]}
    schedule_walk(world.plan(world.session(local_date=date(2026, 10, 10))), by=world.olive, now=world.now)
    text = words_of(olive.post(f"/staff/templates/{template.public_id}/", sent, follow=True).content)
    assert "2026-10-10: The walk was not scheduled. Gwen Guide is out on" in text
    assert "1 draft scheduled." in text


def test_no_date_ticked_schedules_nothing(world: World, olive: Client, template: OfferingTemplate) -> None:
    sent = asked(world) | {"schedule": "", "day": ["2026-12-31"]}
    text = words_of(olive.post(f"/staff/templates/{template.public_id}/", sent, follow=True).content)
    assert "No date was ticked" in text
    assert not Offering.objects.filter(state="draft").exists()


def test_more_repeats_than_half_a_year_are_refused(world: World, olive: Client, template: OfferingTemplate) -> None:
    answer = olive.post(f"/staff/templates/{template.public_id}/", asked(world, times="27") | {"preview": ""})
    assert answer.status_code == 422


def test_a_walk_is_kept_and_thrown_away_on_its_pages(world: World, olive: Client) -> None:
    address = f"/staff/walks/{world.offering.public_id}/template/"
    answer = olive.post(address, {"name": "Wood"}, follow=True)
    kept = OfferingTemplate.objects.get()
    assert answer.redirect_chain == [(f"/staff/templates/{kept.public_id}/", 302)]
    assert "There is a template “Wood” already." in words_of(olive.post(address, {"name": "Wood"}).content)
    assert "Wood Winter wood Cast Wood, 10 am, 180 minutes" in words_of(olive.get("/staff/templates/").content)
    say_yes(olive, f"/staff/templates/{kept.public_id}/remove/")
    assert not OfferingTemplate.objects.exists()
    assert "None is kept yet." in words_of(olive.get("/staff/templates/").content)
