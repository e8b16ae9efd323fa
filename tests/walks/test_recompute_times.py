"""Instants follow the wall time when the rules of a zone change."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest
from django.core.management import call_command

from foraywright.floor.models import FeedRevision
from tests.cast import World
from walks.models import Walk, WalkGuide
from walks.services.recompute_times import recompute_times

pytestmark = pytest.mark.database


def test_leaves_walks_alone_whose_instants_still_follow(world: World, now: datetime) -> None:
    assert recompute_times(by="command", now=now) == []


def test_puts_a_walk_right_with_its_guides_and_its_calendar_entry(world: World, now: datetime) -> None:
    walk = world.offering.walks.get()
    right = walk.starts_at
    hour = timedelta(hours=1)  # as if the database had known another offset when the walk was scheduled
    Walk.objects.update(starts_at=walk.starts_at + hour, ends_at=walk.ends_at + hour)
    WalkGuide.objects.update(starts_at=walk.starts_at + hour, ends_at=walk.ends_at + hour)
    before = FeedRevision.objects.get(feed="walks").revision

    assert recompute_times(by="command", now=now) == [walk]

    walk.refresh_from_db()
    assert (walk.starts_at, walk.calendar_sequence) == (right, 1)
    assert set(WalkGuide.objects.values_list("starts_at", flat=True)) == {right}
    assert FeedRevision.objects.get(feed="walks").revision == before + 1


def test_the_command_says_what_moved(world: World, capsys: pytest.CaptureFixture[str]) -> None:
    call_command("recompute_times")
    assert capsys.readouterr().out == "0 walks moved.\n"
