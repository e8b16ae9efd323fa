"""Putting a walk in the calendar: what it writes, and every reason why it is refused."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta

import pytest
from django.db import DatabaseError, transaction

from foraywright.floor.models import AuditLine, PolicyVersion, Slug
from tests.cast import WALK_DAY, World, make_business, make_guide, make_theme, make_user, make_wood
from walks.errors import WalkNotScheduled
from walks.models import Offering, Site, Walk, WalkGuide
from walks.services.schedule_walk import Plan, schedule_walk

pytestmark = pytest.mark.database
DAY = WALK_DAY + timedelta(days=7)
OUT_TWICE = "guide_out_once|A guide cannot be out twice at once"


def faults_of(world: World, plan: Plan, **changes: object) -> dict[str, list[str]]:
    """What scheduling `plan` is refused with, by field; nothing may have been written."""
    before = Offering.objects.count(), Walk.objects.count(), Slug.objects.count(), AuditLine.objects.count()
    with pytest.raises(WalkNotScheduled) as refused:
        schedule_walk(plan, by=world.olive, now=world.now)
    assert before == (
        Offering.objects.count(),
        Walk.objects.count(),
        Slug.objects.count(),
        AuditLine.objects.count(),
    )
    return {field: list(sentences) for field, sentences in refused.value.fields.items()}


def session_faults(world: World, **changes: object) -> dict[str, list[str]]:
    return faults_of(world, world.plan(world.session(**{"local_date": DAY, **changes})))


def test_writes_a_draft_with_its_instants_slug_guides_and_audit(world: World) -> None:
    session = world.session(local_date=DAY, guides=(world.gwen,), helpers=(world.harry,))
    offering = schedule_walk(world.plan(session, title="Élan & moss"), by=world.olive, now=world.now)
    walk = offering.walks.get()
    assert (offering.state, offering.kind, offering.created_by, offering.fewest) == ("draft", "walk", world.olive, 4)
    assert (walk.starts_at, walk.ends_at) == (
        datetime(2026, 10, 10, 9, tzinfo=UTC),
        datetime(2026, 10, 10, 12, tzinfo=UTC),
    )
    assert (walk.zone, walk.fold, walk.local_time) == ("Europe/London", 0, time(10))
    assert walk.calendar_uid.endswith("@walks.example.org")
    roles = list(walk.walk_guides.order_by("pk").values_list("guide__name", "role", "live"))
    assert roles == [("Gwen Guide", "leads", True), ("Harry Guide", "helps", True)]
    assert Slug.objects.get(object_id=offering.public_id).text == "elan-moss-2026-10-10"
    line = AuditLine.objects.get(object_id=offering.public_id)
    assert (line.act, line.actor, line.at) == ("schedule walk", world.olive.public_id, world.now)
    assert line.fields == ["title", "theme", "site", "date", "guides"]


def test_takes_the_newest_policies(world: World) -> None:
    body = PolicyVersion.objects.get(kind="prices").body
    newest = PolicyVersion.objects.create(kind="prices", number=2, body=body, source="the cast", since=world.now)
    offering = schedule_walk(world.plan(world.session(local_date=DAY)), by=world.olive, now=world.now)
    assert offering.prices == newest
    assert world.offering.prices.number == 1


def test_a_slug_is_never_given_twice(world: World) -> None:
    plans = [world.plan(world.session(local_time=time(hour), minutes=60, local_date=DAY)) for hour in (9, 11, 13)]
    for plan in plans:
        schedule_walk(plan, by=world.olive, now=world.now)
    slugs = Slug.objects.filter(text__contains="2026-10-10").order_by("pk").values_list("text", flat=True)
    assert list(slugs) == [
        "the-bare-wood-2026-10-10",
        "the-bare-wood-2026-10-10-2",
        "the-bare-wood-2026-10-10-3",
    ]


def test_a_title_without_letters_still_gets_an_address(world: World) -> None:
    offering = schedule_walk(world.plan(world.session(local_date=DAY), title="山"), by=world.olive, now=world.now)
    assert Slug.objects.get(object_id=offering.public_id).text == "walk-2026-10-10"


def test_a_walk_that_starts_this_instant_lies_in_the_past(world: World) -> None:
    today = {"local_date": date(2026, 9, 14), "guides": (world.gwen,)}
    assert session_faults(world, **today, local_time=time(10, 0)) == {
        "local_date": ["Monday 14 September 2026 at 10:00 lies in the past. Choose a later time."]
    }
    schedule_walk(world.plan(world.session(**today, local_time=time(10, 1))), by=world.olive, now=world.now)


@pytest.mark.parametrize(("year", "words"), [(1, "1"), (9999, "9999")])
def test_a_mistyped_year_is_refused(world: World, year: int, words: str) -> None:
    (sentence,) = session_faults(world, local_date=date(year, 12, 31), local_time=time(23, 30))["local_date"]
    assert sentence.endswith(f"31 December {words} is more than three years away. Look at the year.")


def test_the_gap_of_spring_is_refused(world: World) -> None:
    assert session_faults(world, local_date=date(2027, 3, 28), local_time=time(1, 30)) == {
        "local_time": [
            "01:30 on Sunday 28 March 2027 does not exist in Europe/London: the clocks go forward over it. "
            "Choose 00:30 or 02:30 instead."
        ]
    }


REPEATED = {"local_date": date(2026, 10, 25), "local_time": time(1, 30), "minutes": 60, "is_night_walk": True}


def test_the_repeated_hour_is_asked_about(world: World) -> None:
    assert session_faults(world, **REPEATED) == {
        "local_time": [
            "01:30 on Sunday 25 October 2026 comes twice in Europe/London, because the clocks go back: first at "
            "UTC+01:00, then again at UTC+00:00. Say which of the two is meant, or choose a time that comes once."
        ]
    }


@pytest.mark.parametrize(("fold", "hour"), [(0, 0), (1, 1)])
def test_the_repeated_hour_is_taken_as_said(world: World, fold: int, hour: int) -> None:
    offering = schedule_walk(world.plan(world.session(**REPEATED, fold=fold)), by=world.olive, now=world.now)
    walk = offering.walks.get()
    assert (walk.starts_at, walk.fold) == (datetime(2026, 10, 25, hour, 30, tzinfo=UTC), fold)
    assert walk.ends_at - walk.starts_at == timedelta(hours=1)


def test_a_walk_over_the_change_of_clocks_lasts_the_time_that_passes(world: World) -> None:
    night = world.session(local_date=date(2026, 10, 24), local_time=time(22), minutes=360, is_night_walk=True)
    walk = schedule_walk(world.plan(night), by=world.olive, now=world.now).walks.get()
    assert walk.ends_at - walk.starts_at == timedelta(hours=6)
    assert walk.local_end.strftime("%H:%M") == "03:00"


def test_after_dusk_only_as_a_night_walk(world: World) -> None:
    late = {"local_time": time(17, 0), "minutes": 120}
    assert session_faults(world, **late) == {
        "is_night_walk": [
            "The walk would end at 19:00, and civil twilight ends at 18:57 there that day. "
            "Start earlier, make it shorter, or declare it a night walk."
        ]
    }
    night = world.session(local_date=DAY, **late, is_night_walk=True)
    assert schedule_walk(world.plan(night), by=world.olive, now=world.now).walks.get().is_night_walk


def test_where_it_stays_dark_only_as_a_night_walk(world: World) -> None:
    Site.objects.filter(pk=world.wood.pk).update(
        latitude="78.223000", longitude="15.647000", zone="Arctic/Longyearbyen"
    )
    world.wood.refresh_from_db()
    assert session_faults(world, local_date=date(2026, 12, 21)) == {
        "is_night_walk": [
            "The walk would end at 13:00, and it stays dark there that day. "
            "Start earlier, make it shorter, or declare it a night walk."
        ]
    }


def test_an_unknown_zone_is_refused(world: World) -> None:
    world.wood.zone = "Europe/Nowhere"
    assert session_faults(world) == {
        "local_time": ["There is no time zone called “Europe/Nowhere”. Write it as Europe/London or Europe/Dublin."]
    }


@pytest.mark.parametrize("minutes", [-5, 0, 14, 721, 10**15])
def test_a_length_that_is_none_is_refused(world: World, minutes: int) -> None:
    assert session_faults(world, minutes=minutes, is_night_walk=True) == {
        "minutes": ["A walk lasts from 15 minutes to 12 hours."]
    }


@pytest.mark.parametrize("minutes", [15, 720])
def test_the_shortest_and_the_longest_are_taken(world: World, minutes: int) -> None:
    session = world.session(local_date=DAY, minutes=minutes, is_night_walk=True)
    assert schedule_walk(world.plan(session), by=world.olive, now=world.now).walks.get().minutes == minutes


def test_without_a_guide_or_a_date_it_is_refused(world: World) -> None:
    assert session_faults(world, guides=()) == {"guides": ["A walk needs at least one guide. Choose who leads."]}
    plan = Plan("No date", world.theme, ())
    assert faults_of(world, plan) == {"local_date": ["There is no date. Choose at least one."]}


def test_a_guide_named_twice_is_refused(world: World) -> None:
    assert session_faults(world, guides=(world.gwen, world.gwen)) == {"guides": ["Gwen Guide is named twice."]}
    assert session_faults(world, helpers=(world.gwen,)) == {"guides": ["Gwen Guide is named twice."]}


def test_a_guide_out_twice_at_once_is_refused(world: World) -> None:
    assert session_faults(world, local_date=WALK_DAY, local_time=time(12, 59), helpers=(world.harry,)) == {
        "guides": [
            "Gwen Guide is out on “The bare wood” from 10:00 on Saturday 3 October 2026.",
            "Harry Guide is out on “The bare wood” from 10:00 on Saturday 3 October 2026.",
        ]
    }


@pytest.mark.parametrize("hour", [7, 13])
def test_one_walk_may_follow_another_at_once(world: World, hour: int) -> None:
    session = world.session(local_date=WALK_DAY, local_time=time(hour))
    assert schedule_walk(world.plan(session), by=world.olive, now=world.now).pk


def test_all_faults_are_said_together(world: World) -> None:
    plan = world.plan(world.session(local_date=date(2026, 9, 1), minutes=5, guides=()))
    with pytest.raises(WalkNotScheduled) as refused:
        schedule_walk(plan, by=world.olive, now=world.now)
    assert refused.value.sentence == (
        "The walk was not scheduled. A walk lasts from 15 minutes to 12 hours. A walk needs at least one guide. Choose "
        "who leads. Tuesday 1 September 2026 at 10:00 lies in the past. Choose a later time. Nothing was saved. Change "
        "what is marked and send it again."
    )
    assert refused.value.code == "walk_not_scheduled"


@pytest.mark.django_db
def test_without_a_policy_nothing_is_saved(now: datetime) -> None:
    make_business()
    guide = make_guide("Gwen Guide", None)
    world = World(now, make_user("olive"), make_user("rosa"), guide, guide, make_wood(), make_theme(), Offering())
    assert faults_of(world, world.plan()) == {"": ["There is no policy “Prices” yet. Set one up first."]}


def test_a_course_is_one_offering_with_its_sessions_numbered(world: World) -> None:
    sessions = [world.session(local_date=DAY + timedelta(weeks=week)) for week in range(3)]
    offering = schedule_walk(world.plan(*sessions, title="Three mornings"), by=world.olive, now=world.now)
    assert offering.kind == "course"
    assert list(offering.walks.values_list("number", "local_date")) == [
        (number, DAY + timedelta(weeks=number - 1)) for number in (1, 2, 3)
    ]
    assert Slug.objects.get(object_id=offering.public_id).text == "three-mornings-2026-10-10"


def test_two_dates_of_a_course_at_once_are_refused(world: World) -> None:
    first = world.session(local_date=DAY, guides=(world.gwen,))
    second = world.session(local_date=DAY, local_time=time(12), guides=(world.harry,))
    assert faults_of(world, world.plan(first, second)) == {
        "local_date": ["Two dates of this course would be at once, on Saturday 10 October 2026."]
    }


def test_the_database_refuses_a_guide_out_twice_whoever_writes(world: World) -> None:
    walk, second = world.walk, timedelta(seconds=1)
    plan = world.plan(world.session(local_date=DAY, guides=(world.harry,)))
    other = schedule_walk(plan, by=world.olive, now=world.now).walks.get()
    late = WalkGuide(walk=other, guide=world.gwen, starts_at=walk.ends_at - second, ends_at=walk.ends_at + second)
    with pytest.raises(DatabaseError, match=OUT_TWICE), transaction.atomic():
        late.save()
    late.starts_at = walk.ends_at
    late.save()
    with pytest.raises(DatabaseError, match=OUT_TWICE), transaction.atomic():
        WalkGuide.objects.filter(pk=late.pk).update(starts_at=walk.ends_at - second)
    late.live = False
    late.starts_at = walk.starts_at
    late.save()
    with pytest.raises(DatabaseError, match=OUT_TWICE), transaction.atomic():
        WalkGuide.objects.filter(pk=late.pk).update(live=True)
