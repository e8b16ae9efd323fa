"""Scheduling and publishing hold the guides' rules, also when two act in the same moment."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from datetime import date, time, timedelta
from functools import partial

import pytest

from curriculum.models import Taxon
from tests.bookings.race import together
from tests.cast import World, make_guide
from walks.errors import WalkNotPublished, WalkNotScheduled
from walks.guides import walks_without_cover
from walks.models import Guide, GuideAbsence, Offering, Theme, ThemeTaxon, WalkGuide
from walks.services.keep_absence import keep_absence
from walks.services.publish_walk import publish_walk
from walks.services.save_certificate import save_certificate
from walks.services.schedule_walk import schedule_walk

DAY = date(2026, 10, 14)
"""A Wednesday."""


def draft_on(world: World, day: date = DAY, **changes: object) -> Offering:
    return schedule_walk(world.plan(world.session(local_date=day, **changes)), by=world.olive, now=world.now)


def refusal(world: World, day: date = DAY, **changes: object) -> str:
    with pytest.raises(WalkNotScheduled) as refused:
        draft_on(world, day, **changes)
    [sentence] = refused.value.fields["guides"]
    return sentence


def reasons(world: World, draft: Offering) -> tuple[str, ...]:
    with pytest.raises(WalkNotPublished) as refused:
        publish_walk(draft, by=world.olive, now=world.now)
    return refused.value.why


def test_nobody_is_sent_out_on_a_day_that_they_keep_free(world: World) -> None:
    draft = draft_on(world)
    away = "Gwen Guide is away on 14 October 2026. Choose another guide or another day."
    GuideAbsence.objects.create(guide=world.gwen, first_day=DAY, last_day=DAY)
    assert refusal(world, local_time=time(15)) == away
    assert reasons(world, draft) == (away,)


def test_nobody_helps_on_an_expired_certificate(world: World) -> None:
    helper = make_guide("Hal Helper", None, "background_check")
    draft = draft_on(world, helpers=(helper,))
    helper.certificates.update(valid_to=DAY - timedelta(days=1))
    ended = (
        "The certificate “background_check” (background check) of Hal Helper ended on 13 October 2026, before "
        "14 October 2026. Renew it or choose another guide."
    )
    assert refusal(world, local_time=time(15), helpers=(helper,)) == ended
    assert reasons(world, draft) == (ended,)


def test_the_days_of_a_week_count_drafts_and_not_what_is_called_off(world: World) -> None:
    Guide.objects.filter(pk=world.gwen.pk).update(days_a_week=2)
    draft_on(world, DAY - timedelta(days=2))
    draft = draft_on(world, DAY - timedelta(days=1))
    draft_on(world, DAY - timedelta(days=1), local_time=time(14))
    assert refusal(world) == (
        "Gwen Guide goes out on at most 2 days a week; with 14 October 2026 it would be 3 from Monday to Sunday. "
        "Choose another guide or another week."
    )
    draft_on(world, DAY + timedelta(days=5))
    WalkGuide.objects.filter(walk__local_date=DAY - timedelta(days=2)).update(live=False)
    assert draft_on(world).state == "draft"
    Guide.objects.filter(pk=world.gwen.pk).update(days_a_week=1)
    assert reasons(world, draft)[0].startswith("Gwen Guide goes out on at most 1 day a week; with 13 October 2026")


def test_a_course_counts_its_own_sessions(world: World) -> None:
    Guide.objects.filter(pk=world.gwen.pk).update(days_a_week=2)
    sessions = [world.session(local_date=DAY + timedelta(days=n)) for n in range(3)]
    with pytest.raises(WalkNotScheduled) as refused:
        schedule_walk(world.plan(*sessions), by=world.olive, now=world.now)
    assert set(refused.value.by_session) == {2}
    assert "it would be 3 from Monday to Sunday" in refused.value.fields["guides"][0]


def test_who_leads_must_be_recorded_for_what_is_taught(world: World) -> None:
    shore = Theme.objects.create(name="Shore", lead="Weed.")
    dulse = Taxon.objects.create(key="palmaria-palmata", group="seaweed")
    ThemeTaxon.objects.create(theme=shore, taxon=dulse)
    Guide.objects.filter(pk=world.gwen.pk).update(may_lead=["fungus"])
    may_not = "Gwen Guide is not recorded as leading seaweeds. Choose another to lead."
    assert refusal(world, theme=shore) == may_not
    assert refusal(world, covers=("palmaria-palmata",)) == may_not
    assert draft_on(world, theme=shore, guides=(world.harry, world.gwen)).state == "draft"


def test_who_leads_in_the_dark_must_be_recorded_for_it(world: World) -> None:
    Guide.objects.filter(pk=world.gwen.pk).update(may_lead=["fungus"])
    assert "not recorded as leading walks in the dark" in refusal(world, local_time=time(19), is_night_walk=True)


def publisher(world: World, draft: Offering) -> Callable[[], str]:
    return lambda: publish_walk(draft, by=world.olive, now=world.now).state


@pytest.mark.database
def test_a_certificate_edited_while_its_walk_is_published(real_world: World) -> None:
    """Either the publisher reads the new date and is refused, or the editor is told that a published walk is bare."""
    world, draft = real_world, draft_on(real_world)
    paper = world.gwen.certificates.get(kind="first_aid")
    facts = {"valid_from": paper.valid_from, "valid_to": DAY - timedelta(days=1)}

    def edit() -> list[str]:
        save_certificate(world.gwen, facts, certificate=paper, by=world.olive, now=world.now)
        return [walk.offering.public_id for walk, _ in walks_without_cover(now=world.now)]

    published, edited = together([publisher(world, draft), edit])
    assert edited.kind == "done"
    assert published.kind in ("done", "refused")
    draft.refresh_from_db()
    bare = [walk.offering.public_id for walk, _ in walks_without_cover(now=world.now)]
    assert (draft.public_id in bare) is (published.kind == "done")


@pytest.mark.database
def test_an_absence_kept_while_a_walk_is_published(real_world: World) -> None:
    world, draft = real_world, draft_on(real_world)
    keep = partial(keep_absence, world.gwen, DAY, DAY, by=world.olive, now=world.now)
    published, kept = together([publisher(world, draft), keep])
    assert kept.kind == "done"
    assert bool(walks_without_cover(now=world.now)) is (published.kind == "done")


@pytest.mark.database
def test_two_schedulers_want_a_guides_last_day_of_the_week(real_world: World) -> None:
    world = real_world
    Guide.objects.filter(pk=world.gwen.pk).update(days_a_week=2)
    draft_on(world, DAY - timedelta(days=2))
    days = [DAY - timedelta(days=1), DAY, DAY + timedelta(days=1), DAY + timedelta(days=2)]
    outcomes = together([partial(draft_on, world, day) for day in days])
    assert Counter(one.kind for one in outcomes) == {"done": 1, "refused": 3}
    assert all("at most 2 days a week" in one.words for one in outcomes if one.kind == "refused")
