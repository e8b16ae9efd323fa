"""Walks that cannot go ahead as they stand: guides, permission, cover, assessment, too few people, drafts."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta

from django.db.models import Min, QuerySet
from django.urls import reverse

from bookings.coming import comings
from bookings.needs.need import Need, day_of, guides_of, named, page_of
from bookings.queries import parties_of_each
from curriculum.queries import accounts_in_use
from walks.assessment_state import UNSIGNED, states_of
from walks.compute.head_count import count_parties
from walks.compute.limits import limit_lines
from walks.guides import walks_without_cover
from walks.models import Offering, Walk
from walks.permissions import walks_outside, walks_uninsured
from walks.queries import limits_of, with_everything

TO_SIGN = timedelta(days=14)
TO_DECIDE = timedelta(days=7)
ONE_DAY = timedelta(days=1)
AHEAD = timedelta(days=60)


def _published(now: datetime, within: timedelta) -> QuerySet[Walk]:
    soon = Walk.objects.filter(starts_at__gt=now, starts_at__lte=now + within, called_off_at=None)
    return soon.filter(offering__state=Offering.State.PUBLISHED)


def without_cover(now: datetime) -> Iterator[Need]:
    """Walks whose guides no longer suffice. Nine queries."""
    for walk, reasons in walks_without_cover(now=now):
        words = f"{named(walk)} has lost its cover: {' '.join(reasons)}"
        yield Need(words, page_of(walk), walk.local_date)


def outside_permission(now: datetime) -> Iterator[Need]:
    """Walks published outside what the landowner allows. Four queries."""
    for walk, reasons in walks_outside(now=now):
        words = f"“{walk.offering.title}” is published outside the permission: {' '.join(reasons)}"
        yield Need(words, reverse("staff_site", args=[walk.site.public_id]), walk.local_date)


def uninsured(now: datetime) -> Iterator[Need]:
    """Walks on whose day no cover is in force. Three queries."""
    for walk in walks_uninsured(now=now):
        yield Need(f"{named(walk)} has no insurance cover.", reverse("staff_covers"), walk.local_date)


def assessments(now: datetime) -> Iterator[Need]:
    """Walks of the next fourteen days that may not start on their assessment. Some seventeen queries in all."""
    walks = list(with_everything(_published(now, TO_SIGN)))
    if not walks:
        return
    states = states_of(walks, accounts_in_use(), comings(walks, now=now))
    for walk in walks:
        if not states[walk.pk].holds:
            word = "not signed" if states[walk.pk].word == UNSIGNED else "stale"
            words = f"The risk assessment of {named(walk)} is {word}."
            yield Need(words, page_of(walk), walk.local_date, guides_of(walk))


def broken_limits(now: datetime) -> Iterator[Need]:
    """Walks to come that a departure left against a limit, as a child with too few adults. Seven queries.

    Nobody can be held to come, so leaving is always allowed; what it breaks waits for a person here.
    """
    walks = list(with_everything(_published(now, AHEAD)))
    limits, parties = limits_of(walks), parties_of_each(walks, now=now)
    for walk in walks:
        allowed = limits[walk.pk]
        coming = count_parties(allowed.policy, parties[walk.pk])
        lines = limit_lines(allowed.policy, allowed.caps, allowed.staff, coming)
        if broken := " ".join(line.sentence for line in lines if not line.kept):
            words = f"{named(walk)} is against a limit: {broken} Find another adult or guide, or ring the parties."
            yield Need(words, page_of(walk), walk.local_date, guides_of(walk))


def below_fewest(now: datetime) -> Iterator[Need]:
    """Walks of the next seven days with fewer people than they need. Three queries."""
    walks = _published(now, TO_DECIDE).select_related("offering").prefetch_related("walk_guides__guide")
    for walk in walks:
        taken, fewest = walk.places_taken_shown, walk.offering.fewest
        if taken < fewest:
            words = (
                f"{named(walk)} has {taken} people; it needs {fewest}. Run it all the same, or call it off while "
                "people can still change their plans."
            )
            yield Need(words, page_of(walk), walk.local_date - ONE_DAY, guides_of(walk))


def drafts(now: datetime) -> Iterator[Need]:
    """Drafts with a walk to come: nobody can book them. One query."""
    waiting = Offering.objects.filter(state=Offering.State.DRAFT, walks__starts_at__gt=now)
    for offering in waiting.annotate(first=Min("walks__local_date")).order_by("first", "pk"):
        words = f"“{offering.title}” is still a draft. It is for {day_of(offering.first)}."
        yield Need(words, reverse("staff_walk", args=[offering.public_id]))
