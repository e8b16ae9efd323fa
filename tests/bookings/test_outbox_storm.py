"""Many letters through a mail server that fails in five ways, with a walk called off in the middle."""

from __future__ import annotations

from collections import Counter
from datetime import datetime, timedelta
from random import Random

import pytest
from pytest_django import Settings

from bookings.models import Booking, OutboxMessage
from bookings.services.book_places import book_places
from bookings.services.call_off_walk import call_off_walk
from bookings.services.send_messages import send_next_message
from foraywright.floor.leases import LEASE
from tests.bookings.mail_server import mail_server
from tests.cast import World
from walks.services.publish_walk import publish_walk
from walks.services.schedule_walk import schedule_walk

FAULTS = ("451 later", "550 never", "RCPT 451 grey", "hang up", "accept and die")
LOST = "accept and die"


def intend(booking: Booking, number: int, now: datetime) -> list[OutboxMessage]:
    """That many intents of one kind, each a version of its own."""
    return OutboxMessage.objects.bulk_create(
        OutboxMessage(
            kind=OutboxMessage.Kind.CONFIRMATION,
            contact=booking.party.contact,
            booking=booking,
            version=100 + one,
            message_id=f"<{booking.code}-{one}@example.org>",
            written_at=now,
            due_at=now + timedelta(milliseconds=one),
        )
        for one in range(number)
    )


def send_all(now: datetime, *, most: int = 10**6) -> tuple[int, datetime]:
    """Let the worker send until nothing is open, or `most` attempts; the clock jumps over the waits."""
    attempts = 0
    while OutboxMessage.objects.filter(done_at=None, given_up_at=None).exists() and attempts < most:
        if send_next_message(now=now) is None:
            now += LEASE
        else:
            attempts += 1
    return attempts, now


@pytest.mark.parametrize("number", [300, pytest.param(5000, marks=pytest.mark.slow)])
def test_nothing_is_lost_stuck_stale_or_needlessly_doubled(real_world: World, settings: Settings, number: int) -> None:
    settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    settings.EMAIL_HOST, settings.EMAIL_TIMEOUT = "127.0.0.1", 5
    world, now, chance = real_world, real_world.now, Random(20261003)
    day = world.walk.local_date + timedelta(days=7)
    plan = world.plan(world.session(local_date=day), title="The other wood")
    other = publish_walk(schedule_walk(plan, by=world.olive, now=now), by=world.olive, now=now)
    doomed, kept = (
        book_places(world.order(offering=one), by="participant", now=now) for one in (world.offering, other)
    )
    OutboxMessage.objects.all().delete()
    for booking in (doomed, kept):
        intend(booking, number // 2, now)
    answers = [chance.choice(FAULTS) if chance.random() < 0.3 else "250 accepted" for _ in range(2 * number)]
    with mail_server(*answers) as (port, handler):
        settings.EMAIL_PORT = port
        _, now = send_all(now, most=number // 3)
        call_off_walk(world.offering, why="storm", by=world.olive, now=now)
        before = len(handler.accepted)
        send_all(now)
    used = answers[: len(answers) - len(handler.answers)]
    times = Counter(str(one["Message-ID"]) for one in handler.accepted)
    assert before
    assert {fault for fault in FAULTS if fault in used} == set(FAULTS)
    assert not OutboxMessage.objects.filter(done_at=None, given_up_at=None).exists()
    sent = OutboxMessage.objects.exclude(done_at=None).filter(not_needed="")
    assert {one.message_id for one in sent} <= set(times)
    assert sum(times.values()) - len(times) <= used.count(LOST)
    mine = set(OutboxMessage.objects.filter(booking=kept, given_up_at=None).values_list("message_id", flat=True))
    assert mine <= set(times)
    assert OutboxMessage.objects.exclude(given_up_at=None).count() <= number // 100
    stale = [one for one in handler.accepted[before:] if str(one["Message-ID"]).startswith(f"<{doomed.code}-")]
    assert stale == []
