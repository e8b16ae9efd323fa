"""The worker: sends messages and builds documents, one row at a time, until it is told to stop."""

from __future__ import annotations

import logging
import signal
import time
from datetime import datetime, timedelta
from types import FrameType
from typing import Any

from django.core.management.base import BaseCommand, CommandParser
from django.db import OperationalError, close_old_connections, connection
from django.utils import timezone

from bookings.services.send_messages import send_next_message
from bookings.services.start_recalls import start_next_recall
from curriculum.services.build_document import build_next_document
from walks.documents import want_booklets

logger = logging.getLogger(__name__)

IDLE_SECONDS = 1
HOUSEKEEPING_EVERY = timedelta(minutes=5)


class Command(BaseCommand):
    help = "Send messages and build documents as they fall due. SIGTERM and SIGINT finish the row in hand."

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
        """Carry out at most one row of each kind; say whether there was any.

        A locked database is waited for. Any other fault is logged: one bad row waits for its lease, the rest go on.
        """
        close_old_connections()
        try:
            return self._work()
        except OperationalError as fault:
            logger.warning("The database did not answer: %s", fault)
            connection.close()
        except Exception:
            logger.exception("The worker goes on after a fault")
        return False

    def _work(self) -> bool:
        self._keep_house(timezone.now())
        done: list[object] = [start_next_recall(now=timezone.now()), send_next_message(now=timezone.now())]
        if not self.stopping:
            done.append(build_next_document(now=timezone.now()))
        return any(done)

    def _keep_house(self, now: datetime) -> None:
        if self.housekeeping_due is None or now >= self.housekeeping_due:
            self.housekeeping_due = now + HOUSEKEEPING_EVERY
            want_booklets(now)
