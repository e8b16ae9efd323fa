"""What is still to be done after incidents, from a week before its day on."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta

from django.urls import reverse
from django.utils import timezone

from bookings.models import FollowUp
from bookings.needs.need import Need, guides_of

AHEAD = timedelta(days=7)


def follow_ups(now: datetime) -> Iterator[Need]:
    """Open follow-ups that are due within a week or overdue. Three queries at most."""
    due = FollowUp.objects.filter(done_at=None, due__lte=timezone.localdate(now) + AHEAD)
    due = due.select_related("owner", "incident__walk__site")
    for one in due.prefetch_related("incident__walk__walk_guides__guide"):
        walk, address = one.incident.walk, reverse("staff_incident", args=[one.incident.public_id])
        yield Need(f"To do after an incident, {walk.site}: {one.what} ({one.owner})", address, one.due, guides_of(walk))
