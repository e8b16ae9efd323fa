"""Note at what the worker fails, and that it succeeds again."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from bookings.models import WorkerFault
from foraywright.floor.acts import act


@act
def note_worker_fault(kind: str, fault: Exception, *, now: datetime) -> None:
    """Note that `kind` failed. Where it is noted already the first instant stays."""
    WorkerFault.objects.get_or_create(kind=kind[:60], defaults={"fault": type(fault).__name__[:60], "since": now})


@act
def end_worker_fault(kind: str) -> None:
    """Take off what was noted of `kind`: it succeeded."""
    WorkerFault.objects.filter(kind=kind[:60]).delete()


@act
def known_worker_faults(kinds: Iterable[str]) -> set[str]:
    """The kinds that failed when last tried; what is none of `kinds` any more is taken off."""
    WorkerFault.objects.exclude(kind__in=kinds).delete()
    return set(WorkerFault.objects.values_list("kind", flat=True))
