"""The worker: sends messages and builds documents, one row at a time, until it is told to stop."""

from __future__ import annotations

import logging
import signal
import time
from collections.abc import Callable
from datetime import datetime, timedelta
from types import FrameType
from typing import Any

from django.contrib.sessions.models import Session
from django.core.management.base import BaseCommand, CommandParser
from django.db import OperationalError, close_old_connections, connection
from django.utils import timezone

from bookings.services.ask_for_group import forget_enquiries
from bookings.services.choose_after_call_off import refund_next_unchosen
from bookings.services.count_attempt import forget_attempts
from bookings.services.erase import ERASINGS
from bookings.services.lapse_holds import lapse_next_hold, warn_of_next_hold
from bookings.services.note_worker_fault import end_worker_fault, known_worker_faults, note_worker_fault
from bookings.services.offer_places import offer_next_places
from bookings.services.remind_of_payment import remind_of_payments
from bookings.services.send_messages import send_next_message
from bookings.services.start_recalls import start_next_recall
from bookings.services.take_income import take_next_income
from bookings.services.tell_of_changes import tell_of_next_change
from bookings.services.tell_of_lapsed_quotes import tell_of_lapsed_quotes
from bookings.services.withdraw_card_pages import withdraw_next_card_page
from bookings.services.write_ahead import write_next_ahead
from curriculum.services.build_document import build_next_document
from foraywright.floor.house_time import keep_house_time
from foraywright.floor.write_ahead_log import empty_the_log
from walks.documents import want_booklets
from walks.services.make_plan import make_next_plan

logger = logging.getLogger(__name__)

IDLE_SECONDS = 1
HOUSEKEEPING_EVERY = timedelta(minutes=5)


def kinds_of_work() -> tuple[Callable[..., object], ...]:
    """What the worker does one of in turn, each kind after what makes work for it."""
    return (
        lapse_next_hold,
        withdraw_next_card_page,
        warn_of_next_hold,
        offer_next_places,
        refund_next_unchosen,
        take_next_income,
        start_next_recall,
        tell_of_next_change,
        write_next_ahead,
        send_next_message,
    )


def slow_kinds_of_work() -> tuple[Callable[..., object], ...]:
    """What takes seconds or minutes a row: done while nothing else waits, so that no letter waits for booklets."""
    return build_next_document, make_next_plan


def steps_of_the_house() -> tuple[Callable[..., object], ...]:
    """What is done once every few minutes, before what is over is erased."""
    forgetting = (forget_attempts, forget_enquiries, forget_sessions)
    return want_booklets, remind_of_payments, tell_of_lapsed_quotes, *forgetting


def forget_sessions(*, now: datetime) -> None:
    """Delete what browsers were remembered by and is over: who signed in, what was said to them."""
    Session.objects.filter(expire_date__lt=now).delete()


def empty_log(*, now: datetime) -> None:
    """What was erased, here or on the web, stands in the database's own log until then."""
    empty_the_log()


def _name(kind: Callable[..., object]) -> str:
    return getattr(kind, "__name__", "work")


class Command(BaseCommand):
    help = "Send messages, build documents, plan seasons. SIGTERM or SIGINT ends it after the row in hand."

    stopping = False
    housekeeping_due: datetime | None = None

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.failing: set[str] = set()

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--once", action="store_true", help="do what is due now and exit")

    @timezone.override(None)
    def handle(self, *args: Any, once: bool, **options: Any) -> None:
        for number in (signal.SIGTERM, signal.SIGINT):
            signal.signal(number, self._stop)
        self._one(self._read_what_failed)
        while not self.stopping:
            busy = self._round()
            if once and not busy:
                return
            if not busy:
                time.sleep(IDLE_SECONDS)

    def _stop(self, number: int, frame: FrameType | None) -> None:
        self.stopping = True

    def _read_what_failed(self, now: datetime) -> None:
        kinds = (keep_house_time, *kinds_of_work(), *slow_kinds_of_work(), *steps_of_the_house(), *ERASINGS, empty_log)
        self.failing = known_worker_faults([_name(kind) for kind in kinds])

    def _round(self) -> bool:
        """Carry out at most one row of each kind, slow ones where there was no other; say whether there was any."""
        close_old_connections()
        self._one(keep_house_time)
        return self._each(self._keep_house, *kinds_of_work()) or self._each(*slow_kinds_of_work())

    def _each(self, *kinds: Callable[..., object]) -> bool:
        done = [self._one(kind) for kind in kinds if not self.stopping]
        return any(done)

    def _one(self, kind: Callable[..., object], now: datetime | None = None) -> bool:
        """Carry out one row of one kind; say whether there was one.

        A locked database is waited for. Any other fault is logged, and noted for a person: the other kinds go on.
        """
        try:
            found = bool(kind(now=now or timezone.now()))
            if _name(kind) in self.failing:
                self._note(kind, None)
            return found
        except OperationalError as fault:
            logger.warning("The database did not answer: %s", fault)
            connection.close()
        except Exception as fault:
            logger.exception("The worker goes on after a fault")
            if _name(kind) not in self.failing:
                self._note(kind, fault)
        return False

    def _note(self, kind: Callable[..., object], fault: Exception | None) -> None:
        """Note that `kind` began to fail, or succeeds again. Where that cannot be written either, the log says it."""
        try:
            if fault is None:
                end_worker_fault(_name(kind))
                self.failing.discard(_name(kind))
            else:
                note_worker_fault(_name(kind), fault, now=timezone.now())
                self.failing.add(_name(kind))
        except Exception:
            logger.exception("The fault could not be noted")

    def _keep_house(self, now: datetime) -> None:
        """Each step by itself: what fails takes none of the others with it, least of all what is to be erased."""
        if self.housekeeping_due is not None and now < self.housekeeping_due:
            return
        self.housekeeping_due = now + HOUSEKEEPING_EVERY
        for step in steps_of_the_house():
            self._one(step, now)
        for erase in ERASINGS:
            while not self.stopping and self._one(erase, now):
                pass
        self._one(empty_log)
