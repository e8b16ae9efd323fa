"""`python -m tests.proofs.letters LETTERS KILLS`: letters through a bad mail server, by a worker killed with kill -9.

The server, a process of its own, fails three times in ten, in five ways. One letter in five is about a walk that is
called off half way. Prints PASS and the figures where none is lost, stuck or stale, and none came twice but where the
acknowledgement was lost: the server dropped it, or the worker died over it.
"""

from __future__ import annotations

import logging
import multiprocessing
import os
import random
import signal
import sys
import tempfile
import time
from collections import Counter
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from tests.bookings.mail_server import Handler, OnAnyPort
from tests.proofs.setting import set_up

FAULTS = ("451 later", "550 never", "RCPT 451 grey", "hang up")
LOST = "accept and die"
FAILING, LOSING = 0.3, 0.004
"""Of all answers the parts that fail, and that lose the acknowledgement."""


class Noting(Handler):
    """Answers by chance and writes down what it did, a line each: how it answered, and the Message-ID it accepted."""

    def __init__(self, notes: Path) -> None:
        super().__init__()
        self.notes = notes.open("a", buffering=1, encoding="ascii")

    async def handle_RCPT(self, *args: Any) -> str:
        chance = random.random()
        answer = LOST if chance < LOSING else random.choice(FAULTS) if chance < FAILING else "250 accepted"
        self.answers = [answer]
        if answer.startswith("RCPT"):
            self.notes.write(answer.replace(" ", "_") + "\n")
        return await super().handle_RCPT(*args)

    async def handle_DATA(self, *args: Any) -> str:
        answer = self.answers[0]
        before = len(self.accepted)
        said = await super().handle_DATA(*args)
        accepted = [str(one["Message-ID"]) for one in self.accepted[before:]]
        self.notes.write(" ".join([answer.replace(" ", "_"), *accepted]) + "\n")
        return said


def _serve(notes: Path, port: Any) -> None:
    controller = OnAnyPort(Noting(notes), hostname="127.0.0.1", port=0)
    controller.start()
    port.send(controller.port)
    signal.pause()


def _work(now: datetime) -> None:
    from django.db import connections

    from bookings.services.send_messages import send_next_message

    connections.close_all()
    while True:
        if send_next_message(now=now) is None:
            time.sleep(0.01)


def main(letters: int, kills: int) -> None:
    """Send them all; say what was found."""
    context, begun = multiprocessing.get_context("fork"), time.monotonic()
    with tempfile.TemporaryDirectory(prefix="letters-") as folder:
        notes = Path(folder, "notes")
        notes.touch()
        ours, theirs = context.Pipe()
        server = context.Process(target=_serve, args=(notes, theirs), daemon=True)
        server.start()
        set_up()
        _point_at(ours.recv())
        print(_storm(context, notes, letters, kills), f"{time.monotonic() - begun:.0f} s")


def _point_at(port: int) -> None:
    from django.conf import settings

    settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    settings.EMAIL_HOST, settings.EMAIL_PORT, settings.EMAIL_TIMEOUT = "127.0.0.1", port, 5
    logging.disable(logging.ERROR)


def _storm(context: Any, notes: Path, letters: int, kills: int) -> str:
    from django.db import connections

    from bookings.models import OutboxMessage
    from bookings.services.book_places import book_places
    from bookings.services.call_off_walk import call_off_walk
    from bookings.services.send_messages import send_next_message
    from tests.bookings.test_outbox_storm import intend, send_all
    from tests.cast import make_world
    from tests.conftest import NOW
    from walks.services.publish_walk import publish_walk
    from walks.services.schedule_walk import schedule_walk

    now, world = NOW, make_world(now=NOW)
    plan = world.plan(world.session(local_date=world.walk.local_date + timedelta(days=7)), title="The other wood")
    other = publish_walk(schedule_walk(plan, by=world.olive, now=now), by=world.olive, now=now)
    doomed, kept = (
        book_places(world.order(offering=one), by="participant", now=now) for one in (world.offering, other)
    )
    OutboxMessage.objects.all().delete()
    intend(doomed, letters // 5, now)
    intend(kept, letters - letters // 5, now)
    before = 0
    send_next_message(now=now)  # what a worker reads once, its children inherit: they live for a second at most
    for number in range(kills):
        if number == kills // 2:
            call_off_walk(world.offering, why="Storm.", by=world.olive, now=now)
            before = len(notes.read_text("ascii").splitlines())
        connections.close_all()
        worker = context.Process(target=_work, args=(now,))
        worker.start()
        time.sleep(random.uniform(0.1, 0.9))
        os.kill(worker.pid, signal.SIGKILL)
        worker.join()
        now += timedelta(minutes=1)
    left = OutboxMessage.objects.filter(done_at=None, given_up_at=None).count()
    send_all(now)
    lines = [line.split() for line in notes.read_text("ascii").splitlines()]
    print(f"{letters} letters, {kills} kills, {left} left after them")
    return _found(lines, before, f"<{doomed.code}-", kept, kills)


def _found(lines: list[list[str]], before: int, doomed: str, kept: Any, kills: int) -> str:
    from bookings.models import OutboxMessage

    times = Counter(line[1] for line in lines if len(line) > 1)
    answers = Counter(line[0] for line in lines)
    sent = OutboxMessage.objects.exclude(done_at=None).filter(not_needed="")
    lost = {one.message_id for one in sent} - set(times)
    given_up = OutboxMessage.objects.exclude(given_up_at=None)
    twice = sum(times.values()) - len(times)
    stale = [line for line in lines[before:] if len(line) > 1 and line[1].startswith(doomed)]
    faults = {
        "open": OutboxMessage.objects.filter(done_at=None, given_up_at=None).count(),
        "lost": len(lost),
        "given up without a reason": given_up.filter(last_error="").count(),
        "of the walk that takes place neither sent nor given up": OutboxMessage.objects.filter(booking=kept)
        .exclude(message_id__in=times)
        .exclude(pk__in=given_up)
        .count(),
        "twice without a dropped acknowledgement or a kill": max(0, twice - answers["accept_and_die"] - kills),
        "stale": len(stale),
        "not tried with every fault": len({*FAULTS, LOST} - {one.replace("_", " ") for one in answers}),
    }
    verdict = "FAIL" if any(faults.values()) or not before else "PASS"
    share = 100 * twice / max(1, len(times))
    return (
        f"{verdict}: {len(times)} came, {twice} twice ({share:.1f} %), {answers['accept_and_die']} "
        f"acknowledgements dropped; {given_up.count()} for a person; answers {dict(answers)}; {faults};"
    )


if __name__ == "__main__":
    main(int(sys.argv[1]), int(sys.argv[2]))
