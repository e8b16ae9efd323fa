"""A mail server on the loopback that behaves as it is told."""

from __future__ import annotations

import email
import time
from collections.abc import Iterator
from contextlib import contextmanager
from email.message import EmailMessage
from email.policy import default

from aiosmtpd.controller import Controller
from aiosmtpd.smtp import SMTP, Envelope, Session


class Handler:
    """`answers` are given in turn, then "250 accepted". "hang up" drops the connection before any answer.

    "accept and die" takes the message and drops the connection: the acknowledgement is lost.
    """

    def __init__(self, *answers: str, seconds: float = 0) -> None:
        self.answers = list(answers)
        self.seconds = seconds
        self.begun = 0
        self.accepted: list[EmailMessage] = []

    async def handle_RCPT(self, server: SMTP, session: Session, envelope: Envelope, address: str, options: list) -> str:
        if self.answers and self.answers[0].startswith("RCPT "):
            return self.answers.pop(0).removeprefix("RCPT ")
        envelope.rcpt_tos.append(address)
        return "250 known"

    async def handle_DATA(self, server: SMTP, session: Session, envelope: Envelope) -> str:
        self.begun += 1
        answer = self.answers.pop(0) if self.answers else "250 accepted"
        time.sleep(self.seconds)
        if answer.startswith("250") or answer == "accept and die":
            self.accepted.append(email.message_from_bytes(envelope.content, policy=default))
        if answer in ("hang up", "accept and die"):
            server.transport.abort()
        return answer


class OnAnyPort(Controller):
    """The library knocks at the port that it was given, which is 0 here; the system chose another."""

    def _trigger_server(self) -> None:
        self.port = self.server.sockets[0].getsockname()[1]
        super()._trigger_server()


@contextmanager
def mail_server(*answers: str, seconds: float = 0) -> Iterator[tuple[int, Handler]]:
    """Run it; give its port and its handler."""
    handler = Handler(*answers, seconds=seconds)
    controller = OnAnyPort(handler, hostname="127.0.0.1", port=0)
    controller.start()
    try:
        yield controller.port, handler
    finally:
        controller.stop()
