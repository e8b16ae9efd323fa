"""The feeds that can be followed: which walks each holds, what it is called, and the tag of what it says now.

A tag is the feed, the revision that acts raise with every fact that feeds show, and how many of its walks have begun
and have left it by rule: what a feed says changes with nothing else. Two queries, and nothing is built.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from django.db.models import Count, Q
from django.utils import timezone

from curriculum.queries import SPECIES_FEED
from foraywright.floor.models import Business, FeedRevision
from walks.feeds.calendar import calendar, unsayable
from walks.feeds.entries import Entry, addresses, feed_walks, public_entries, published_walks, still_shown
from walks.models import Guide, Site, Theme, Walk
from walks.queries import offering_slugs
from walks.services.publish_walk import FEED


@dataclass(frozen=True, slots=True)
class WalksFeed:
    """A feed of walks: `key` for the tag, what it is called, and which of the published walks it holds."""

    key: str
    name: str
    among: Q

    def tag(self, *, now: datetime, today: date) -> str:
        """The tag of what the feed says now. Two queries."""
        counts = (
            published_walks()
            .filter(self.among)
            .aggregate(
                begun=Count("pk", filter=Q(starts_at__lte=now), distinct=True),
                left=Count("pk", filter=~still_shown(today), distinct=True),
            )
        )
        return f"{self.key}-{revision(FEED)}-{counts['begun']}-{counts['left']}"

    def content(self, business: Business, *, address: str, now: datetime, today: date) -> bytes:
        """The feed itself. About twelve queries whatever its length."""
        walks = list(feed_walks(today=today, among=self.among))
        entry_of = public_entries(walks, offering_slugs(), now=now)
        return calendar(walks, entry_of, business, name=self.name, address=address).content


def left_out(*, now: datetime) -> list[Walk]:
    """The walks to come that no feed holds, since something in their rows cannot be said in one. Four queries.

    How full they are is left aside: that can always be said.
    """
    slugs, walks = offering_slugs(), list(feed_walks(today=timezone.localdate(now), among=Q(ends_at__gt=now)))
    return unsayable(walks, lambda one: Entry(one, *addresses(slugs[one.offering.public_id])))


def revision(feed: str) -> int:
    """How often a fact that `feed` shows has changed. One query."""
    return FeedRevision.objects.filter(feed=feed).values_list("revision", flat=True).first() or 0


def all_walks(business: Business) -> WalksFeed:
    """Every walk."""
    return WalksFeed("walks", f"Walks of {business.name}", Q())


def at_site(site: Site, business: Business) -> WalksFeed:
    """The walks at one site."""
    return WalksFeed(f"site-{site.public_id}", f"{site.name}: walks of {business.name}", Q(site=site))


def on_theme(theme: Theme, business: Business) -> WalksFeed:
    """The walks on one theme, sessions of courses too."""
    on_it = Q(theme=theme) | Q(theme=None, offering__theme=theme)
    return WalksFeed(f"theme-{theme.public_id}", f"{theme.name}: walks of {business.name}", on_it)


def led_by(guide: Guide, business: Business) -> WalksFeed:
    """The walks on which one guide is out, for that guide."""
    out = Q(walk_guides__guide=guide)
    return WalksFeed(f"guide-{guide.public_id}", f"Walks of {guide.name} for {business.name}", out)


def species_tag(*, year: int) -> str:
    """The tag of the season calendar. One query."""
    return f"species-{revision(SPECIES_FEED)}-{year}"
