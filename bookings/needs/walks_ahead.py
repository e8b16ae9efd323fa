"""Walks that cannot go ahead as they stand: guides, permission, cover, assessment, too few people, drafts."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Collection, Iterator, Mapping
from datetime import datetime, timedelta
from itertools import groupby
from zoneinfo import available_timezones

from django.db.models import Min, QuerySet
from django.urls import reverse

from bookings.adults import broken_lines
from bookings.coming import comings
from bookings.models import OutboxMessage
from bookings.needs.need import Need, counted, day_of, guides_of, named, page_of
from curriculum.queries import AccountInUse
from walks.assessment_state import UNSIGNED, states_of
from walks.feeds.following import left_out
from walks.guides import walks_without_cover
from walks.models import Offering, Walk
from walks.permissions import walks_outside, walks_uninsured
from walks.queries import with_everything
from walks.ratio_conditions import is_tidal

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


def assessments(now: datetime, accounts: Mapping[str, AccountInUse]) -> Iterator[Need]:
    """Walks of the next fourteen days that may not start on their assessment. Some fifteen queries in all."""
    walks = list(with_everything(_published(now, TO_SIGN)))
    if not walks:
        return
    states = states_of(walks, accounts, comings(walks, now=now))
    for walk in walks:
        if not states[walk.pk].holds:
            word = "not signed" if states[walk.pk].word == UNSIGNED else "stale"
            words = f"The risk assessment of {named(walk)} is {word}."
            yield Need(words, page_of(walk), walk.local_date, guides_of(walk))


def broken_limits(now: datetime) -> Iterator[Need]:
    """Walks to come that a departure left against a limit, as a child with too few adults. Eight queries.

    Nobody can be held to come, so leaving is always allowed; what it breaks waits for a person here.
    """
    walks = list(with_everything(_published(now, AHEAD)))
    broken = {key: lines for key, lines in broken_lines(walks, now=now).items() if lines}
    told = _told_of_missing_adults(broken)
    for walk in (one for one in walks if one.pk in broken):
        why = " ".join(line.sentence for line in broken[walk.pk])
        words = f"{named(walk)} is against a limit: {why}{told(walk)} Find another adult or guide, or ring the parties."
        yield Need(words, page_of(walk), walk.local_date, guides_of(walk))


def _told_of_missing_adults(walks: Collection[int]) -> Callable[[Walk], str]:
    """Says of a walk how many of its parties were written to. One query."""
    kind = OutboxMessage.Kind.SHORT_OF_ADULTS
    letters = OutboxMessage.objects.filter(kind=kind, version__in=walks, not_needed="").values_list(
        "version", "done_at"
    )
    meant, sent = Counter[int](), Counter[int]()
    for walk_id, done_at in letters:
        meant[walk_id] += 1
        sent[walk_id] += done_at is not None

    def told(walk: Walk) -> str:
        letters = "1 letter" if meant[walk.pk] == 1 else f"{meant[walk.pk]} letters"
        return f" Of {letters} to parties with children {sent[walk.pk] or 'none'} went out." if meant[walk.pk] else ""

    return told


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


def out_of_feeds(now: datetime) -> Iterator[Need]:
    """Published walks to come that are missing from the calendars that people follow. Four queries."""
    for walk in left_out(now=now):
        words = (
            f"{named(walk)} is missing from the calendars that people follow: something in its record cannot be said "
            "there. Look through its title, times and place and save what is odd anew. If nothing is, call whoever "
            "looks after the machine: the log names the fault."
        )
        yield Need(words, page_of(walk), walk.local_date)


def unknown_zones(now: datetime) -> Iterator[Need]:
    """Walks to come whose time zone, or whose site's, the time-zone database does not know. One query."""
    known = available_timezones()
    coming = Walk.objects.filter(ends_at__gt=now, called_off_at=None).select_related("site", "offering")
    for walk in coming.exclude(zone__in=known, site__zone__in=known).order_by("starts_at", "pk"):
        words = (
            f"{named(walk)} keeps time by a zone that the time-zone database does not know: “{walk.zone}”, its site "
            f"“{walk.site.zone}”. Its times are shown as they were saved, and calendars leave it out. Choose the time "
            f"zone of {walk.site} anew, and have “manage.py recompute_times” run."
        )
        yield Need(words, reverse("staff_site_edit", args=[walk.site.public_id]), walk.local_date)


def low_water(now: datetime) -> Iterator[Need]:
    """Walks to come that go by the tide, drafts too, of which nobody has written down low water: by site. One query."""
    coming = Walk.objects.filter(starts_at__gt=now, called_off_at=None, low_water=None).select_related(
        "site", "offering"
    )
    tidal = [one for one in coming.order_by("starts_at", "pk") if is_tidal(one.site)]
    for site, walks in groupby(sorted(tidal, key=lambda one: one.site_id), key=lambda one: one.site):
        first, *more = walks
        others = f", and of {counted(len(more), 'later walk', 'later walks')} there" if more else ""
        words = f"Low water of {named(first)} at {site} is not written down{others}. Take it from a tide table."
        yield Need(words, page_of(first), first.local_date)


def drafts(now: datetime) -> Iterator[Need]:
    """Drafts with a walk to come: nobody can book them. One query."""
    waiting = Offering.objects.filter(state=Offering.State.DRAFT, walks__starts_at__gt=now)
    for offering in waiting.annotate(first=Min("walks__local_date")).order_by("first", "pk"):
        words = f"“{offering.title}” is still a draft. It is for {day_of(offering.first)}."
        yield Need(words, reverse("staff_walk", args=[offering.public_id]))
