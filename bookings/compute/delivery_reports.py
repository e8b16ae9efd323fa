"""Delivery reports of mail servers: which message was not delivered, and why (RFC 3464; returned parts by RFC 6522)."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from email.message import Message

FAILED = "failed"
STATUS = re.compile(r"[245]\.\d{1,3}\.\d{1,3}")


@dataclass(frozen=True, slots=True)
class Failure:
    """The message with that Message-ID was not delivered. `status`: its enhanced code such as 5.1.1, or empty."""

    message_id: str
    status: str


def failures_in(mail: Message) -> Iterator[Failure]:
    """Every failure that `mail` reports. A delay is none: the server goes on trying. No report reports nothing.

    The message is known by the Message-ID in the part that is returned, never by an address.
    """
    if mail.get_content_type() != "multipart/report" or not mail.is_multipart():
        return
    parts = list(mail.walk())
    statuses = [status for part in parts for status in _statuses(part)]
    message_id = next((found for part in parts if (found := _returned_id(part))), "")
    if message_id and statuses:
        yield Failure(message_id, statuses[0])


def _statuses(part: Message) -> Iterator[str]:
    """The status code of each recipient that the report says failed."""
    if part.get_content_type() != "message/delivery-status":
        return
    for block in part.get_payload():
        if isinstance(block, Message) and str(block.get("Action", "")).strip().lower() == FAILED:
            found = STATUS.search(str(block.get("Status", "")))
            yield found[0] if found else ""


def _returned_id(part: Message) -> str:
    if part.get_content_type() == "message/rfc822":
        inner = part.get_payload()
        return _id_of(inner[0]) if isinstance(inner, list) and isinstance(inner[0], Message) else ""
    if part.get_content_type() == "text/rfc822-headers":
        text = part.get_payload(decode=True)
        lines = text.decode("utf-8", "replace") if isinstance(text, bytes) else ""
        found = re.search(r"^Message-ID:\s*(<[^<>\s]+>)", lines, re.IGNORECASE | re.MULTILINE)
        return found[1] if found else ""
    return ""


def _id_of(mail: Message) -> str:
    return str(mail.get("Message-ID", "")).strip()
