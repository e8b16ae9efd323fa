"""Which walks a calendar shows, and what it says of each."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import lru_cache

from django.conf import settings
from django.db.models import Q, QuerySet, prefetch_related_objects
from django.urls import reverse

from walks.compute.occupancy import occupancy, tightest
from walks.feeds.event import KEPT_EVENTS, EventFacts
from walks.models import Offering, Walk
from walks.queries import WalkLimits, limits_of, with_everything

CALLED_OFF = "Called off"
SHOWN_AFTER_CALLING_OFF = timedelta(days=30)
SHOWN_AFTERWARDS = timedelta(days=365)


@dataclass(frozen=True, slots=True)
class Entry:
    """What a calendar says of one walk.

    `page` and `handout` are public addresses. `sessions` is how many walks the offering has, `first` the UID of their
    first. `room` is "open", "few" or "full", empty where nobody can book any more. `ended` says in words why the walk
    does not take place (for this reader), empty where it does. `raised` is added to the stored SEQUENCE.
    """

    walk: Walk
    page: str
    handout: str
    sessions: int = 1
    room: str = ""
    ended: str = ""
    raised: int = 0
    first: str = ""


EntryOf = Callable[[Walk], Entry]


def facts_of(entry: Entry, organiser: tuple[str, str] = ("", "")) -> EventFacts:
    """Everything that the event of the entry is made from. No query."""
    walk, offering, site = entry.walk, entry.walk.offering, entry.walk.site
    return EventFacts(
        uid=walk.calendar_uid,
        stamp=walk.calendar_stamp,
        modified=walk.calendar_modified,
        sequence=walk.calendar_sequence + entry.raised,
        starts_at=walk.starts_at,
        ends_at=walk.ends_at,
        zone=walk.zone,
        title=offering.title,
        number=walk.number,
        sessions=entry.sessions,
        ended=entry.ended,
        why=offering.called_off_why,
        about=offering.lead or offering.theme.lead,
        going=site.going,
        room=entry.room,
        meeting_point=site.meeting_point,
        site=site.name,
        reference=site.reference_as_typed,
        latitude=float(site.latitude),
        longitude=float(site.longitude),
        theme=offering.theme.name,
        page=entry.page,
        handout=entry.handout,
        related=entry.first if entry.first != walk.calendar_uid else "",
        organiser=organiser,
    )


def published_walks() -> QuerySet[Walk]:
    """Walks that are, or were when called off, on the public programme."""
    published = Q(offering__state=Offering.State.PUBLISHED)
    was_published = Q(offering__state=Offering.State.CALLED_OFF, offering__published_at__isnull=False)
    return Walk.objects.filter(published | was_published, offering__private=False)


def still_shown(today: date) -> Q:
    """A walk that is over stays for a year, one that is called off for 30 days after its date."""
    recent = Q(called_off_at=None) | Q(local_date__gte=today - SHOWN_AFTER_CALLING_OFF)
    return recent & Q(local_date__gte=today - SHOWN_AFTERWARDS)


def feed_walks(*, today: date, among: Q | None = None) -> QuerySet[Walk]:
    """The walks of a public feed, those `among` them where only some are wanted. Four queries.

    Sites and themes are few and shared: read apart, not with each of thousands of walks.
    """
    walks = published_walks().filter(still_shown(today), among or Q())
    shared = walks.select_related("offering").prefetch_related("site", "theme", "offering__theme")
    return shared.order_by("starts_at", "pk")


def walks_of(offering: Offering) -> QuerySet[Walk]:
    """All walks of one offering. Four queries."""
    return with_everything(Walk.objects.filter(offering=offering)).order_by("starts_at", "pk")


def public_entries(walks: Sequence[Walk], slugs: Mapping[str, str], *, now: datetime) -> EntryOf:
    """How the public reads `walks`; `slugs` by the offering's public id. Seven queries whatever their number.

    Guides and ratios are read of walks to come alone: of the others nobody asks how full they are.
    """
    coming = [walk for walk in walks if walk.called_off_at is None and walk.starts_at > now]
    prefetch_related_objects(coming, "offering__ratios", "walk_guides__guide__certificates")
    limits, uids = limits_of(coming), _uids()

    def entry(walk: Walk) -> Entry:
        page, handout = addresses(slugs[walk.offering.public_id])
        ended = CALLED_OFF if walk.called_off_at else ""
        room = room_on(walk, limits[walk.pk]) if walk.pk in limits else ""
        sessions = uids[walk.offering_id]
        return Entry(walk, page, handout, len(sessions), room, ended, first=sessions[0])

    return entry


def _uids() -> Mapping[int, list[str]]:
    """UIDs of the sessions of each offering, in order. One query."""
    found: dict[int, list[str]] = defaultdict(list)
    rows = Walk.objects.order_by("offering_id", "number").values_list("offering_id", "calendar_uid")
    for offering, uid in rows:
        found[offering].append(uid)
    return found


def addresses(slug: str) -> tuple[str, str]:
    """The public page of an offering and the address that serves its handout in the version in use."""
    page, handout = _paths(slug)
    return f"{settings.SITE_ADDRESS}{page}", f"{settings.SITE_ADDRESS}{handout}"


@lru_cache(maxsize=KEPT_EVENTS)
def _paths(slug: str) -> tuple[str, str]:
    return reverse("walk_page", args=[slug]), reverse("walk_handout", args=[slug])


def room_on(walk: Walk, limits: WalkLimits) -> str:
    """How full the walk is shown to be: "open", "few" or "full". No query."""
    return occupancy(tightest(limits.policy, limits.caps, limits.staff, walk.places_taken_shown).slack)
