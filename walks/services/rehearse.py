"""Schedule and publish in a transaction that is always rolled back, to say what would stand in the way.

The rules are those of the acts themselves, and dates that take a guide's or a permission's last day from one another
are found, since each date sees the ones before it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from django.db import transaction

from foraywright.floor.acts import By
from walks.errors import WalkNotScheduled
from walks.models import Offering
from walks.services.publish_walk import against_dates, unsigned, walks_with_guides_locked
from walks.services.schedule_walk import Plan, put_in_calendar


@dataclass(frozen=True, slots=True)
class Rehearsal:
    """What one plan would meet. `refused`: it could not even be a draft; `later`: it could not be published."""

    plan: Plan
    refused: tuple[str, ...] = ()
    later: tuple[str, ...] = ()

    @property
    def passes(self) -> bool:
        """Whether it can be scheduled and nothing about its dates stands against publishing."""
        return not self.refused and not self.later


@dataclass(frozen=True, slots=True)
class Rehearsed:
    """All plans, and what stands against publishing any of them whatever the date: unsigned accounts."""

    plans: tuple[Rehearsal, ...]
    unsigned: tuple[str, ...]


def rehearse(plans: Sequence[Plan], *, by: By, now: datetime) -> Rehearsed:
    """Try `plans` in their order as if each that passes were published, and leave nothing behind."""
    with transaction.atomic(durable=True):
        tried = tuple(_try(plan, by=by, now=now) for plan in plans)
        drafts = Offering.objects.filter(created_at=now).order_by("-pk")[:1]
        walks = [walk for one in drafts for walk in one.walks.select_related("theme", "offering__theme")]
        without = tuple(unsigned(walks, today=now.date()))
        transaction.set_rollback(True)
    return Rehearsed(tried, without)


def _try(plan: Plan, *, by: By, now: datetime) -> Rehearsal:
    try:
        with transaction.atomic():
            offering = put_in_calendar(plan, by=by, now=now)
    except WalkNotScheduled as refused:
        return Rehearsal(plan, refused=refused.why)
    walks = walks_with_guides_locked(offering.walks.all())
    later = tuple(dict.fromkeys(against_dates(walks, now=now)))
    if not later:
        Offering.objects.filter(pk=offering.pk).update(state=Offering.State.PUBLISHED, published_at=now)
    return Rehearsal(plan, later=later)
