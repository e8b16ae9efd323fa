"""Read delivery reports from a mailbox file, or one from standard input as a mail server pipes it."""

from __future__ import annotations

import mailbox
import sys
from collections.abc import Iterable
from email import message_from_bytes
from email.message import Message
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from bookings.compute.delivery_reports import failures_in
from bookings.services.note_bounce import note_bounce


class Command(BaseCommand):
    help = (
        "Mark letters that came back, from delivery reports (RFC 3464): a mailbox file, or one mail on standard input."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("mailbox", nargs="?", help="mbox file; without it one mail is read from standard input")

    def handle(self, *args: Any, **options: Any) -> None:
        mails = list(_mails(options["mailbox"]))
        failures = [failure for mail in mails for failure in failures_in(mail)]
        noted = [note_bounce(one, by="read_bounces", now=timezone.now()) for one in failures]
        self.stdout.write(f"{len(mails)} mails, {len(failures)} failures, {sum(noted)} of them letters of ours.")


def _mails(path: str | None) -> Iterable[Message]:
    if path is None:
        return [message_from_bytes(sys.stdin.buffer.read())]
    if not Path(path).is_file():
        raise CommandError(f"There is no mailbox file {path}. Nothing was read.")
    return mailbox.mbox(path, create=False)
