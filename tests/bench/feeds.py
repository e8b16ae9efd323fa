"""A feed of 5,000 events against joining the same strings; what one change builds; what a 304 builds."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from unittest.mock import patch

from django.test import Client
from django.utils import timezone

from foraywright.floor.ids import new_public_id
from foraywright.floor.models import Slug
from tests.bench.clock import line, seconds
from tests.cast import make_world
from tests.conftest import NOW
from walks.feeds.entries import facts_of, feed_walks, public_entries
from walks.feeds.event import event_text
from walks.models import Offering, Walk
from walks.queries import offering_slugs

EVENTS = 5_000
FEED = "/calendar/walks.ics"


def lines() -> Iterator[str]:
    """All of them on one throwaway world."""
    _many(make_world(now=NOW).offering)
    event_text.cache_clear()
    first = seconds(_fetch, runs=1)
    again = seconds(_fetch)
    texts = _texts()
    bare = seconds(lambda: b"".join(texts))
    yield line(f"feed of {EVENTS} events, every event built", first, bare, "joining the same strings")
    yield line(f"feed of {EVENTS} events, every event kept", again, bare, "joining the same strings")
    before = event_text.cache_info().misses
    Offering.objects.filter(pk=Offering.objects.latest("pk").pk).update(title="Another title")
    _fetch()
    yield f"after one change {event_text.cache_info().misses - before} event(s) were built; it must be 1"
    yield from _unchanged()


def _unchanged() -> Iterator[str]:
    etag = _fetch()["ETag"]
    with patch("walks.feeds.following.calendar", side_effect=AssertionError("built")):
        took = seconds(lambda: Client().get(FEED, headers={"if-none-match": etag}))
    yield f"a 304 built nothing and took {1000 * took:.1f} ms"


def _fetch() -> object:
    return Client().get(FEED)


def _texts() -> list[bytes]:
    now = timezone.now()
    walks = list(feed_walks(today=timezone.localdate(now)))
    entry_of = public_entries(walks, offering_slugs(), now=now)
    return [event_text(facts_of(entry_of(walk))) for walk in walks]


def _many(offering: Offering) -> None:
    """Copies of the walk of the cast, each an offering of its own, all within a year around today."""
    walk, today = offering.walks.get(), timezone.localdate()
    columns = {one.attname: getattr(offering, one.attname) for one in Offering._meta.concrete_fields}
    for name in ("id", "public_id"):
        columns.pop(name)
    made = Offering.objects.bulk_create(Offering(**columns, public_id=new_public_id()) for _ in range(EVENTS - 1))
    Slug.objects.bulk_create(
        Slug(kind="offering", text=one.public_id, object_id=one.public_id, since=NOW) for one in made
    )
    Walk.objects.bulk_create(
        Walk(
            offering=one, number=1, site=walk.site, local_date=today + timedelta(days=number % 300),
            local_time=walk.local_time, zone=walk.zone, minutes=walk.minutes, starts_at=walk.starts_at,
            ends_at=walk.ends_at, calendar_uid=f"{one.public_id}@walks.example.org", calendar_stamp=NOW,
            calendar_modified=NOW,
        )
        for number, one in enumerate(made)
    )  # fmt: skip
