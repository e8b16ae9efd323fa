"""Which walks a calendar shows, and what it says of each."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.conf import settings
from django.db.models import Q, QuerySet
from django.urls import reverse

from walks.compute.occupancy import occupancy, tightest
from walks.models import Offering, Walk
from walks.queries import walk_limits, with_everything

CALLED_OFF = "Called off"
SHOWN_AFTER_CALLING_OFF = timedelta(days=30)


@dataclass(frozen=True, slots=True)
class Entry:
    """What a calendar says of one walk.

    `page` and `handout` are public addresses. `sessions` is how many walks the offering has. `room` is "open", "few" or
    "full", empty where nobody can book any more. `ended` says in words why the walk does not take place (for this
    reader), empty where it does. `raised` is added to the stored SEQUENCE.
    """

    walk: Walk
    page: str
    handout: str
    sessions: int = 1
    room: str = ""
    ended: str = ""
    raised: int = 0


EntryOf = Callable[[Walk], Entry]


def feed_walks(*, today: date) -> QuerySet[Walk]:
    """The walks of the public feed: published ones, and called-off ones until 30 days after. Four queries."""
    published = Q(offering__state=Offering.State.PUBLISHED)
    was_published = Q(offering__state=Offering.State.CALLED_OFF, offering__published_at__isnull=False)
    recent = Q(called_off_at=None) | Q(local_date__gte=today - SHOWN_AFTER_CALLING_OFF)
    return with_everything(Walk.objects.filter(published | was_published, recent)).order_by("starts_at", "pk")


def walks_of(offering: Offering) -> QuerySet[Walk]:
    """All walks of one offering. Four queries."""
    return with_everything(Walk.objects.filter(offering=offering)).order_by("starts_at", "pk")


def public_entries(slugs: Mapping[str, str], sessions: Mapping[int, int], *, now: datetime) -> EntryOf:
    """How the public reads a walk: `slugs` by the offering's public id, `sessions` by its primary key.

    An entry costs two queries for its occupancy while the walk is to come, none afterwards.
    """

    def entry(walk: Walk) -> Entry:
        page, handout = addresses(slugs[walk.offering.public_id])
        ended = CALLED_OFF if walk.called_off_at else ""
        room = room_on(walk) if not ended and walk.starts_at > now else ""
        return Entry(walk, page, handout, sessions[walk.offering_id], room, ended)

    return entry


def addresses(slug: str) -> tuple[str, str]:
    """The public page of an offering and the address that serves its handout in the version in use."""
    paths = (reverse(name, args=[slug]) for name in ("walk_page", "walk_handout"))
    page, handout = (f"{settings.SITE_ADDRESS}{path}" for path in paths)
    return page, handout


def room_on(walk: Walk) -> str:
    """How full the walk is shown to be: "open", "few" or "full". Two queries where guides are prefetched."""
    limits = walk_limits(walk)
    return occupancy(tightest(limits.policy, limits.caps, limits.staff, walk.places_taken_shown).slack)
