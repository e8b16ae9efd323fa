"""Rows that the worker carries out: claimed by a conditional update with a lease, so a killed worker strands nothing.

A lease that ran out is claimable again. That gives at least once; whoever carries out a row makes twice harmless.
"""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import TypeVar
from zlib import crc32

from django.db import models
from django.db.models import F, Q, QuerySet

LEASE = timedelta(minutes=3)
RETRY_AFTER = (
    timedelta(seconds=30),
    timedelta(minutes=2),
    timedelta(minutes=10),
    timedelta(hours=1),
    timedelta(hours=4),
)


class LeasedRow(models.Model):
    """Work for the worker. `done_at` and `given_up_at` end it; until then it is due from `due_at` on."""

    due_at = models.DateTimeField()
    lease_until = models.DateTimeField(null=True, blank=True)
    attempts = models.PositiveIntegerField(default=0)
    last_error = models.CharField(max_length=300, blank=True)
    done_at = models.DateTimeField(null=True, blank=True)
    given_up_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        abstract = True


Row = TypeVar("Row", bound=LeasedRow)


def claim(model: type[Row], *, now: datetime) -> Row | None:
    """Take the lease of one due row and return it, or None. Two queries; a rival who was quicker costs one more."""
    open_rows = Q(done_at=None, given_up_at=None, due_at__lte=now) & (Q(lease_until=None) | Q(lease_until__lte=now))
    for _ in range(20):
        key = model._default_manager.filter(open_rows).order_by("due_at", "pk").values_list("pk", flat=True).first()
        if key is None:
            return None
        taken = model._default_manager.filter(open_rows, pk=key).update(
            lease_until=now + LEASE, attempts=F("attempts") + 1
        )
        if taken:
            return model._default_manager.get(pk=key)
    return None


def finish(row: LeasedRow, *, now: datetime) -> None:
    """Say that the row's work is done."""
    type(row)._default_manager.filter(pk=row.pk).update(done_at=now, lease_until=None, last_error="")


def _held(row: LeasedRow) -> QuerySet[LeasedRow]:
    """The row while its lease is the one that was claimed. Where it ran out meanwhile, the row is another worker's, who
    may be carrying it out, or has done so: ending that lease would let a third carry it out as well."""
    return type(row)._default_manager.filter(pk=row.pk, lease_until=row.lease_until, done_at=None)


def give_up(row: LeasedRow, why: str, *, now: datetime) -> None:
    """Say that the row will not be carried out, and why. Whoever lost the lease says nothing (see `_held`)."""
    _held(row).update(given_up_at=now, lease_until=None, last_error=why[:300])


def put_off(row: LeasedRow, error: str, *, now: datetime) -> None:
    """Try again later, or give up after the last interval so that a person sees it. `error` holds no personal data.

    Up to a fifth of the interval is taken off, for each row and attempt another part: rows that failed together would
    otherwise all knock again together.
    """
    if row.attempts > len(RETRY_AFTER):
        give_up(row, error, now=now)
    else:
        share = crc32(f"{row.pk}/{row.attempts}".encode()) % 1000 / 5000
        _held(row).update(
            due_at=now + RETRY_AFTER[row.attempts - 1] * (1 - share), lease_until=None, last_error=error[:300]
        )
