"""Putting a draft on the programme: every paper that must be there."""

from __future__ import annotations

from datetime import date, time, timedelta
from pathlib import Path

import pytest

from curriculum.models import AccountVersion, SignOff, Taxon
from curriculum.services.load_starter import load_starter
from curriculum.services.sign_off_account import Signature, sign_off_account
from foraywright.floor.models import AuditLine, FeedRevision
from tests.cast import World, make_wood
from tests.curriculum.garlic import GARLIC, garlic_files
from walks.errors import WalkNotPublished
from walks.models import GuideCertificate, InsuranceCover, LandownersPermission, Offering, Theme, ThemeTaxon, Walk
from walks.permissions import walks_outside
from walks.queries import walk_limits
from walks.services.publish_walk import publish_walk
from walks.services.schedule_walk import schedule_walk

pytestmark = pytest.mark.database
DAY = date(2026, 10, 10)


@pytest.fixture
def draft(world: World) -> Offering:
    return schedule_walk(world.plan(world.session(local_date=DAY)), by=world.olive, now=world.now)


def reasons_against(world: World, draft: Offering) -> list[str]:
    """Why `draft` is not published; it must stay as it was and say so."""
    before = FeedRevision.objects.get(feed="walks").revision
    with pytest.raises(WalkNotPublished) as refused:
        publish_walk(draft, by=world.olive, now=world.now)
    reasons = list(refused.value.why)
    assert refused.value.sentence == " ".join(
        [f"“{draft.title}” was not published.", *reasons, "It stays a draft.", "Put these right first."]
    )
    assert FeedRevision.objects.get(feed="walks").revision == before
    assert not AuditLine.objects.filter(act="publish walk", object_id=draft.public_id).exists()
    return reasons


def test_publishes_and_tells_the_feed_and_the_audit(world: World, draft: Offering) -> None:
    before = FeedRevision.objects.get(feed="walks").revision
    published = publish_walk(draft, by=world.olive, now=world.now)
    assert (published.state, published.published_at) == ("published", world.now)
    assert FeedRevision.objects.get(feed="walks").revision == before + 1
    line = AuditLine.objects.get(act="publish walk", object_id=draft.public_id)
    assert (line.actor, line.fields) == (world.olive.public_id, ["state"])


def test_a_second_press_is_refused(world: World, draft: Offering) -> None:
    publish_walk(draft, by=world.olive, now=world.now)
    with pytest.raises(WalkNotPublished) as refused:
        publish_walk(draft, by=world.olive, now=world.now)
    assert refused.value.sentence == f"“{draft.title}” is published already. Nothing was changed."


def test_a_walk_in_the_past_is_refused(world: World, draft: Offering) -> None:
    start = draft.walks.get().starts_at
    with pytest.raises(WalkNotPublished) as refused:
        publish_walk(draft, by=world.olive, now=start)
    assert refused.value.why == ("The walk of 2026-10-10 lies in the past.",)
    assert publish_walk(draft, by=world.olive, now=start - timedelta(seconds=1)).state == "published"


@pytest.mark.parametrize(
    ("valid_from", "valid_to"),
    [(date(2026, 1, 1), DAY - timedelta(days=1)), (DAY + timedelta(days=1), date(2026, 12, 31))],
)
def test_a_permission_that_does_not_cover_the_day(
    world: World, draft: Offering, valid_from: date, valid_to: date
) -> None:
    LandownersPermission.objects.update(valid_from=valid_from, valid_to=valid_to)
    assert reasons_against(world, draft) == ["No landowner's permission for Cast Wood covers 2026-10-10."]


def test_a_permission_for_that_one_day_is_enough(world: World, draft: Offering) -> None:
    LandownersPermission.objects.update(valid_from=DAY, valid_to=DAY)
    InsuranceCover.objects.update(valid_from=DAY, valid_to=DAY)
    GuideCertificate.objects.update(valid_from=DAY, valid_to=DAY)
    assert publish_walk(draft, by=world.olive, now=world.now).state == "published"


def test_a_closed_season_shuts_the_day_and_another_permission_opens_it(world: World, draft: Offering) -> None:
    LandownersPermission.objects.update(closed_seasons=[["10-01", "02-01"]])
    assert reasons_against(world, draft) == [
        "The landowner's permission for Cast Wood is closed from 1 October to 1 February, and so on 2026-10-10."
    ]
    LandownersPermission.objects.create(
        site=world.wood, granted_by="The tenant", valid_from=DAY, valid_to=DAY, most_people=8
    )
    assert publish_walk(draft, by=world.olive, now=world.now).state == "published"
    assert {cap.key: cap.figure for cap in walk_limits(draft.walks.get()).caps}["permission"] == 8


def test_a_group_that_is_too_large_at_its_smallest(world: World, draft: Offering) -> None:
    LandownersPermission.objects.update(most_people=4)
    assert reasons_against(world, draft) == [
        "The landowner's permission for Cast Wood allows 4 people at once; "
        "the fewest that the walk runs with, and our own people, are 5."
    ]


def test_published_walks_that_a_changed_permission_leaves_outside(world: World) -> None:
    assert walks_outside(now=world.now) == []
    LandownersPermission.objects.update(closed_seasons=[["10-03", "10-03"]])
    assert walks_outside(now=world.now) == [
        (
            world.walk,
            ["The landowner's permission for Cast Wood is closed from 3 October to 3 October, and so on 2026-10-03."],
        )
    ]


def test_a_permission_for_another_site_is_none(world: World, draft: Offering) -> None:
    other = make_wood(name="Other Wood")
    LandownersPermission.objects.exclude(site=other).delete()
    assert reasons_against(world, draft) == ["No landowner's permission for Cast Wood covers 2026-10-10."]


def test_the_days_a_year_of_a_permission(world: World, draft: Offering) -> None:
    LandownersPermission.objects.update(days_a_year=1)
    assert reasons_against(world, draft) == [
        "The landowner's permission for Cast Wood allows 1 days a year; with this it would be 2 in 2026."
    ]
    LandownersPermission.objects.update(days_a_year=2)
    assert publish_walk(draft, by=world.olive, now=world.now).state == "published"


def test_a_second_walk_on_a_day_that_is_taken_takes_no_day(world: World) -> None:
    LandownersPermission.objects.update(days_a_year=1)
    session = world.session(local_time=time(14))
    same_day = schedule_walk(world.plan(session), by=world.olive, now=world.now)
    assert publish_walk(same_day, by=world.olive, now=world.now).state == "published"


def test_a_called_off_day_and_another_year_take_no_day(world: World) -> None:
    LandownersPermission.objects.update(days_a_year=1, valid_to=date(2027, 12, 31))
    InsuranceCover.objects.update(valid_to=date(2027, 12, 31))
    GuideCertificate.objects.update(valid_to=date(2027, 12, 31))
    next_year = schedule_walk(world.plan(world.session(local_date=date(2027, 1, 2))), by=world.olive, now=world.now)
    assert publish_walk(next_year, by=world.olive, now=world.now).state == "published"
    draft = schedule_walk(world.plan(world.session(local_date=DAY)), by=world.olive, now=world.now)
    Walk.objects.filter(offering=world.offering).update(called_off_at=world.now)
    assert publish_walk(draft, by=world.olive, now=world.now).state == "published"


def test_a_course_counts_its_own_days_against_the_permission(world: World) -> None:
    LandownersPermission.objects.update(days_a_year=3)
    sessions = [world.session(local_date=DAY + timedelta(weeks=week)) for week in range(3)]
    course = schedule_walk(world.plan(*sessions, title="Three mornings"), by=world.olive, now=world.now)
    assert reasons_against(world, course) == [
        "The landowner's permission for Cast Wood allows 3 days a year; with this it would be 4 in 2026."
    ]
    LandownersPermission.objects.update(days_a_year=4)
    assert publish_walk(course, by=world.olive, now=world.now).state == "published"


def test_no_cover_in_force(world: World, draft: Offering) -> None:
    InsuranceCover.objects.update(valid_to=DAY - timedelta(days=1))
    assert reasons_against(world, draft) == ["No insurance cover is in force on 2026-10-10."]


def test_no_first_aider(world: World, draft: Offering) -> None:
    expected = ["Nobody on the walk of 2026-10-10 has a first-aid certificate in date that day."]
    GuideCertificate.objects.filter(kind="first_aid").update(valid_to=DAY - timedelta(days=1))
    ended = (
        "The certificate “first_aid” (first aid) of Gwen Guide ended on 9 October 2026, before 10 October 2026. "
        "Renew it or choose another guide."
    )
    assert reasons_against(world, draft) == [*expected, ended]
    GuideCertificate.objects.filter(kind="first_aid").update(valid_to=DAY)
    world.gwen.adult = False
    world.gwen.save()
    assert reasons_against(world, draft) == expected


def test_all_reasons_are_said_together(world: World, draft: Offering) -> None:
    LandownersPermission.objects.all().delete()
    InsuranceCover.objects.all().delete()
    GuideCertificate.objects.all().delete()
    assert len(reasons_against(world, draft)) == 3


@pytest.fixture
def taught(world: World, tmp_path: Path) -> Offering:
    """A draft whose theme teaches wild garlic, from the real accounts."""
    load_starter(garlic_files(tmp_path), by="command", now=world.now)
    theme = Theme.objects.create(name="Garlic", lead="Green.")
    ThemeTaxon.objects.create(theme=theme, taxon=Taxon.objects.get(key="allium-ursinum"))
    return schedule_walk(world.plan(world.session(local_date=DAY), theme=theme), by=world.olive, now=world.now)


def sign(world: World, key: str) -> None:
    version = AccountVersion.objects.get(taxon__key=key)
    signature = Signature(SignOff.Kind.REVIEWED, "the cast", review_by=DAY, thin_reason="every leaf is checked")
    sign_off_account(version, signature, by=world.rosa, now=world.now)


def test_the_taught_account_and_its_dangerous_lookalikes_must_be_signed(world: World, taught: Offering) -> None:
    names = ["Wild Garlic", "Lords-and-ladies", "Meadow Saffron", "Lily-of-the-valley"]
    assert sorted(reasons_against(world, taught)) == sorted(f"The account of {one} is not signed." for one in names)
    for key in GARLIC[:-1]:
        sign(world, key)
    assert reasons_against(world, taught) == ["The account of Lily-of-the-valley is not signed."]
    sign(world, GARLIC[-1])
    assert publish_walk(taught, by=world.olive, now=world.now).state == "published"
