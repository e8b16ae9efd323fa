"""Count attempts, so that nobody holds a walk empty or guesses codes."""

from __future__ import annotations

from datetime import datetime, timedelta

from django.utils.crypto import salted_hmac

from bookings.errors import TooOften
from bookings.models import AttemptCount
from foraywright.floor.acts import act

PER = timedelta(hours=1)
KEPT = timedelta(days=1)


@act
def count_attempt(kind: str, who: str, *, most: int, now: datetime) -> None:
    """Note one attempt of `kind` by `who` (an e-mail or network address); raises TooOften after `most` in an hour.

    The count is a row of its own and is locked: attempts at the same moment are all counted, on every process.
    """
    digest = salted_hmac("foraywright.attempt", who.casefold(), algorithm="sha256").hexdigest()
    AttemptCount.objects.get_or_create(kind=kind, who=digest, defaults={"since": now})
    row = AttemptCount.objects.select_for_update().get(kind=kind, who=digest)
    if row.since + PER <= now:
        row.since, row.number = now, 0
    if row.number >= most:
        raise _too_often(row.since + PER - now)
    row.number += 1
    row.save(update_fields=["since", "number"])


def _too_often(left: timedelta) -> TooOften:
    minutes = max(1, -(-int(left.total_seconds()) // 60))
    return TooOften(
        "That was too often in a short time.",
        why=["So that nobody can hold all places or guess codes, each may try a few times an hour."],
        became="Nothing was changed.",
        now=f"Try again in {minutes} minutes, or ring us.",
        seconds=minutes * 60,
    )


@act
def forget_attempts(*, now: datetime) -> None:
    """Delete counts that are a day old."""
    AttemptCount.objects.filter(since__lte=now - KEPT).delete()
