"""Changing a walk: every rule is asked anew, the calendar is raised rightly, whoever booked may leave for free."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from datetime import date, time, timedelta
from functools import partial
from pathlib import Path

import pytest

from bookings.models import Booking, Place
from bookings.queries import may_leave_free, statement_of
from bookings.services.book_places import book_places
from bookings.services.cancel_booking import settlement
from bookings.services.change_walk import change_walk
from curriculum.services.load_starter import load_starter
from foraywright.floor.leases import claim
from foraywright.floor.models import AuditLine, FeedRevision
from tests.bookings.race import together
from tests.cast import WALK_DAY, World, make_guide, make_wood
from tests.curriculum.garlic import garlic_files
from walks.errors import WalkNotChanged
from walks.models import GuideAbsence, LandownersPermission, Offering, Walk, WalkChange, WalkGuide
from walks.services.publish_walk import publish_walk
from walks.services.schedule_walk import schedule_walk
from walks.services.sessions import session_of

WHY = "The track to the wood is closed."


def change(world: World, walk: Walk | None = None, **changes: object) -> Walk:
    walk = walk or world.walk
    return change_walk(walk, replace(session_of(walk), **changes), why=WHY, by=world.olive, now=world.now)


def refusal(world: World, walk: Walk | None = None, **changes: object) -> WalkNotChanged:
    """The refusal; everything must be as it was."""
    before = list(Walk.objects.values()), list(WalkGuide.objects.values()), FeedRevision.objects.get().revision
    with pytest.raises(WalkNotChanged) as refused:
        change(world, walk, **changes)
    assert (
        list(Walk.objects.values()),
        list(WalkGuide.objects.values()),
        FeedRevision.objects.get().revision,
    ) == before
    assert not WalkChange.objects.exists()
    return refused.value


def told(walk: Walk) -> list[tuple[str, str, str]]:
    return [(one["field"], one["before"], one["after"]) for one in WalkChange.objects.get(walk=walk).what]


def test_another_start_moves_walk_outings_and_calendar(world: World) -> None:
    before, feed = world.walk, FeedRevision.objects.get(feed="walks").revision
    walk = change(world, local_time=time(11, 30))
    assert walk.starts_at == before.starts_at + timedelta(minutes=90)
    assert walk.ends_at == before.ends_at + timedelta(minutes=90)
    assert {(one.starts_at, one.ends_at) for one in walk.walk_guides.all()} == {(walk.starts_at, walk.ends_at)}
    assert (walk.calendar_uid, walk.calendar_stamp) == (before.calendar_uid, before.calendar_stamp)
    assert (walk.calendar_sequence, walk.calendar_modified) == (1, world.now)
    assert FeedRevision.objects.get(feed="walks").revision == feed + 1
    assert told(walk) == [("start", "10 am", "11.30 am")]
    assert WalkChange.objects.get().material
    line = AuditLine.objects.get(act="change walk")
    assert (line.object_id, line.fields, line.reason) == (world.offering.public_id, ["start"], WHY)


def test_other_guides_are_told_without_raising_the_sequence(world: World) -> None:
    walk = change(world, guides=(world.harry, world.gwen))
    assert (walk.calendar_sequence, walk.calendar_modified) == (0, world.now)
    assert told(walk) == [("guides", "Gwen Guide, Harry Guide", "Harry Guide, Gwen Guide")]
    assert not WalkChange.objects.get().material
    roles = list(walk.walk_guides.order_by("pk").values_list("guide__name", "role"))
    assert roles == [("Harry Guide", "leads"), ("Gwen Guide", "guides")]


def test_who_did_not_come_stays_missing_when_the_hour_changes_and_not_on_another_day(world: World) -> None:
    WalkGuide.objects.filter(guide=world.harry).update(missing_since=world.walk.starts_at - timedelta(hours=1))
    later = change(world, local_time=time(11, 30))
    assert [one.guide for one in later.walk_guides.exclude(missing_since=None)] == [world.harry]
    moved = change(world, later, local_date=WALK_DAY + timedelta(days=7))
    assert not moved.walk_guides.exclude(missing_since=None).exists()


def test_the_row_waits_to_be_claimed(world: World) -> None:
    change(world, local_date=WALK_DAY + timedelta(days=1))
    claimed = claim(WalkChange, now=world.now)
    assert claimed is not None
    assert (claimed.walk, claimed.why, claimed.by) == (world.walk, WHY, world.olive.public_id)
    assert [one["label"] for one in claimed.what] == ["Day"]


def test_a_draft_is_changed_without_a_word_to_anybody(world: World) -> None:
    plan = world.plan(world.session(local_date=date(2026, 10, 10)))
    draft = schedule_walk(plan, by=world.olive, now=world.now).walks.get()
    LandownersPermission.objects.all().delete()
    assert change(world, draft, minutes=120, heading="Bark").heading == "Bark"
    assert not WalkChange.objects.exists()


def test_the_same_again_is_refused(world: World) -> None:
    assert refusal(world).why == ("Nothing is different.",)


@pytest.mark.parametrize("state", ["called_off", "begun"])
def test_what_is_over_or_called_off_is_not_changed(world: World, state: str) -> None:
    if state == "begun":
        Walk.objects.update(starts_at=world.now)
        assert refusal(world, minutes=60).why == ("It has begun or is over.",)
    else:
        Offering.objects.update(state="called_off", called_off_at=world.now)
        assert refusal(world, minutes=60).why == ("It is called off.",)


def test_every_rule_of_scheduling_is_asked_anew(world: World) -> None:
    GuideAbsence.objects.create(guide=world.gwen, first_day=date(2026, 10, 4), last_day=date(2026, 10, 4))
    refused = refusal(world, local_date=date(2026, 10, 4), minutes=5)
    assert dict(refused.fields) == {
        "minutes": ["A walk lasts from 15 minutes to 12 hours."],
        "guides": ["Gwen Guide is away on 4 October 2026. Choose another guide or another day."],
    }


def test_every_rule_of_publishing_is_asked_anew(world: World) -> None:
    hal = make_guide("Hal Helper", None)
    assert refusal(world, guides=(hal,)).why == (
        "Nobody on the walk of 2026-10-03 has a first-aid certificate in date that day.",
    )
    other = make_wood(name="Other Wood")
    LandownersPermission.objects.filter(site=other).delete()
    assert refusal(world, site=other).why == ("No landowner's permission for Other Wood covers 2026-10-03.",)


def test_its_own_outing_does_not_stand_in_its_way(world: World) -> None:
    assert change(world, local_time=time(10, 30)).local_time == time(10, 30)


def test_the_days_of_a_permission_count_the_day_it_moves_to_only(world: World) -> None:
    LandownersPermission.objects.update(days_a_year=1)
    assert change(world, local_date=WALK_DAY + timedelta(days=1)).local_date == WALK_DAY + timedelta(days=1)


def test_learning_points_are_told_of(world: World) -> None:
    walk = change(world, points="Gills and pores\n\n Spore prints ")
    assert walk.learning_points == ["Gills and pores", "Spore prints"]
    assert told(walk) == [("covers", "", "Gills and pores; Spore prints")]


def test_nothing_unsigned_is_added_to_what_a_published_walk_covers(world: World, tmp_path: Path) -> None:
    load_starter(garlic_files(tmp_path), by="command", now=world.now)
    assert "The account of Wild Garlic is not signed." in refusal(world, covers=("allium-ursinum",)).why


def test_a_place_too_small_for_those_who_booked_is_refused(world: World) -> None:
    book_places(world.order(*["adult"] * 6), by="participant", now=world.now)
    small = make_wood(name="Small Wood", most_people=7)
    refused = refusal(world, site=small)
    assert refused.why == (
        "Those who have booked would no longer fit.",
        "The site allows 7 people, staff included; 8 are coming; that is 1 too many.",
    )
    assert change(world, site=make_wood(name="Enough", most_people=8)).site.name == "Enough"


def test_a_limit_that_was_broken_before_does_not_bar_a_change_that_leaves_it_so(world: World) -> None:
    book_places(world.order(*["adult"] * 6), by="participant", now=world.now)
    world.wood.most_people = 7
    world.wood.save()
    assert change(world, minutes=150).minutes == 150


def test_a_material_change_opens_a_free_exit_for_those_who_booked_before_it(world: World) -> None:
    late = world.walk.starts_at - timedelta(days=2)
    booking = book_places(world.order(), by="participant", now=world.now - timedelta(minutes=1))
    assert settlement(booking, ours=False, now=late).percent == 0
    change(world, guides=(world.harry, world.gwen))
    assert not may_leave_free(booking)
    walk = world.walk
    change_walk(walk, replace(session_of(walk), minutes=120), why=WHY, by=world.olive, now=world.now)
    after = book_places(world.order(), by="participant", now=world.now)
    assert settlement(booking, ours=False, now=late).percent == 100
    assert settlement(after, ours=False, now=late).percent == 0


@pytest.mark.database
def test_a_sale_against_a_change_to_a_smaller_place(real_world: World) -> None:
    """Whichever comes first, nobody has a place that the new place does not bear."""
    world, small = real_world, make_wood(name="Small Wood", most_people=6)
    walk = Walk.objects.get(pk=world.walk.pk)
    to_small = replace(session_of(walk), site=small)
    acts = [partial(book_places, world.order(), by="participant", now=world.now) for _ in range(4)]
    acts.insert(2, partial(change_walk, walk, to_small, why=WHY, by=world.olive, now=world.now))
    outcomes = together(acts)
    assert "fault" not in Counter(one.kind for one in outcomes)
    walk.refresh_from_db()
    taken = Place.objects.filter(walk=walk, given_back_at=None).count()
    assert taken == 2 * Booking.objects.count()
    moved = outcomes[2].kind == "done"
    assert (walk.site == small) is moved
    assert statement_of(walk, now=world.now).refusals == ()
    assert taken <= (4 if moved else 8)


@pytest.mark.database
def test_two_walks_are_moved_to_a_guides_last_free_day(real_world: World) -> None:
    world = real_world
    world.gwen.days_a_week = 1
    world.gwen.save()
    walks = []
    for week in (1, 2):
        plan = world.plan(world.session(local_date=WALK_DAY + timedelta(weeks=week)))
        published = publish_walk(schedule_walk(plan, by=world.olive, now=world.now), by=world.olive, now=world.now)
        walks.append(published.walks.get())
    days = [WALK_DAY + timedelta(weeks=4), WALK_DAY + timedelta(weeks=4, days=-1)]
    outcomes = together([partial(change, world, walk, local_date=day) for walk, day in zip(walks, days, strict=True)])
    assert sorted(one.kind for one in outcomes) == ["done", "refused"]
