"""The worker: sends messages and builds documents, one row at a time, until it is told to stop."""

from __future__ import annotations

import logging
import signal
import time
from collections.abc import Callable
from datetime import datetime, timedelta
from types import FrameType
from typing import Any

from django.core.management.base import BaseCommand, CommandParser
from django.db import OperationalError, close_old_connections, connection
from django.utils import timezone

from bookings.services.ask_for_group import forget_enquiries
from bookings.services.choose_after_call_off import refund_next_unchosen
from bookings.services.count_attempt import forget_attempts
from bookings.services.erase import erase_next_overdue, forget_buyers
from bookings.services.lapse_holds import lapse_next_hold, warn_of_next_hold
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


class Command(BaseCommand):
    help = "Send messages, build documents, plan seasons. SIGTERM or SIGINT ends it after the row in hand."

    stopping = False
    housekeeping_due: datetime | None = None

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--once", action="store_true", help="do what is due now and exit")

    def handle(self, *args: Any, once: bool, **options: Any) -> None:
        for number in (signal.SIGTERM, signal.SIGINT):
            signal.signal(number, self._stop)
        while not self.stopping:
            busy = self._round()
            if once and not busy:
                return
            if not busy:
                time.sleep(IDLE_SECONDS)

    def _stop(self, number: int, frame: FrameType | None) -> None:
        self.stopping = True

    def _round(self) -> bool:
        """Carry out at most one row of each kind, slow ones where there was no other; say whether there was any."""
        close_old_connections()
        return self._each(self._keep_house, *kinds_of_work()) or self._each(*slow_kinds_of_work())

    def _each(self, *kinds: Callable[..., object]) -> bool:
        done = [self._one(kind) for kind in kinds if not self.stopping]
        return any(done)

    def _one(self, kind: Callable[..., object]) -> bool:
        """Carry out one row of one kind; say whether there was one.

        A locked database is waited for. Any other fault is logged: one bad row is tried again later, the rest go on.
        """
        try:
            return bool(kind(now=timezone.now()))
        except OperationalError as fault:
            logger.warning("The database did not answer: %s", fault)
            connection.close()
        except Exception:
            logger.exception("The worker goes on after a fault")
        return False

    def _keep_house(self, now: datetime) -> None:
        if self.housekeeping_due is None or now >= self.housekeeping_due:
            self.housekeeping_due = now + HOUSEKEEPING_EVERY
            want_booklets(now)
            remind_of_payments(now=now)
            tell_of_lapsed_quotes(now=now)
            forget_attempts(now=now)
            forget_buyers(now=now)
            forget_enquiries(now=now)
            while not self.stopping and erase_next_overdue(now=now):
                pass
            empty_the_log()  # what was erased, here or on the web, stands in it until then
