"""The step by which the room above says how many places are taken, for display and feeds only."""

from datetime import datetime

from foraywright.floor.acts import require_act
from foraywright.floor.numbering import bump_feed
from walks.models import Walk
from walks.services.publish_walk import FEED


def show_places_taken(walk: Walk, taken: int, *, now: datetime) -> None:
    """Keep the number that pages and feeds show; no decision reads it."""
    require_act()
    Walk.objects.filter(pk=walk.pk).update(places_taken_shown=taken, calendar_modified=now)
    bump_feed(FEED, now=now)
