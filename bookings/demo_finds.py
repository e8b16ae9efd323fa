"""What the walk of the demo that is over found. Invented."""

from __future__ import annotations

from uuid import uuid4

from curriculum.models import Taxon
from foraywright.floor.models import User
from walks.models import Walk
from walks.queries import wanted_by
from walks.services.keep_find import Found, keep_effort, keep_find


def list_finds_for_the_demo(walk: Walk, *, by: User) -> None:
    """A complete list: the first of the species that the walk taught, and one that nobody could name."""
    first = Taxon.objects.get(key=wanted_by([walk])[walk.pk][0])
    finds = (
        Found(uuid4(), first, count=4, stage="mature"),
        Found(uuid4(), None, words="a small brown cap on a buried twig, left where it was"),
    )
    for found in finds:
        keep_find(walk, found, by=by, now=walk.ends_at)
    keep_effort(walk, complete=True, minutes=walk.minutes, people=9, by=by, now=walk.ends_at)
