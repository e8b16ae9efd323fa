"""Steps that hand out numbers, slugs and feed revisions under a lock."""

from datetime import datetime

from django.db.models import F

from foraywright.floor.acts import require_act
from foraywright.floor.models import Counter, FeedRevision, Slug


def next_number(key: str) -> int:
    """Return the next number under `key`, without gaps: the row stays locked until the act commits."""
    require_act()
    Counter.objects.get_or_create(key=key)
    counter = Counter.objects.select_for_update().get(key=key)
    counter.last += 1
    counter.save(update_fields=["last"])
    return counter.last


def give_slug(kind: str, wanted: str, object_id: str, *, now: datetime) -> str:
    """Give the object the slug `wanted`, or `wanted-2`, `-3` … where another object has or had it; return it."""
    require_act()
    attempt, n = wanted, 1
    while not _takes(kind, attempt, object_id, now=now):
        n += 1
        attempt = f"{wanted}-{n}"
    return attempt


def _takes(kind: str, text: str, object_id: str, *, now: datetime) -> bool:
    """Whether the object has the slug now. A rival who gives the same one in this moment is waited for."""
    slug, new = Slug.objects.get_or_create(kind=kind, text=text, defaults={"object_id": object_id, "since": now})
    if slug.object_id == object_id and not new:
        Slug.objects.filter(pk=slug.pk).update(since=now)
    return slug.object_id == object_id


def bump_feed(feed: str, *, now: datetime) -> None:
    """Raise the revision of `feed` in the transaction that changed what it shows."""
    require_act()
    FeedRevision.objects.get_or_create(feed=feed, defaults={"changed_at": now})
    FeedRevision.objects.filter(feed=feed).update(revision=F("revision") + 1, changed_at=now)
