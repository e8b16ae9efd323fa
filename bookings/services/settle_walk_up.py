"""Say what follows from a party that came against a limit."""

from __future__ import annotations

from datetime import datetime

from bookings.errors import WalkUpNotSettled
from bookings.models import WalkUp
from foraywright.floor.acts import act, record
from foraywright.floor.models import User


@act
def settle_walk_up(walk_up: WalkUp, answer: str, *, by: User, now: datetime) -> None:
    """Keep that `by` looked at it, and what follows. What was broken stays written. Raises WalkUpNotSettled.

    The row is locked: of two who look at once the second would write over what the first said.
    """
    walk_up = WalkUp.objects.select_for_update(of=("self",)).select_related("booking").get(pk=walk_up.pk)
    if walk_up.looked_at is not None:
        raise WalkUpNotSettled("Somebody has looked at it already.", became="What they wrote stays.")
    if not answer.strip():
        raise WalkUpNotSettled("Write what follows from it.", became="It waits for an answer still.")
    walk_up.looked_at, walk_up.looked_by, walk_up.answer = now, by, answer.strip()
    walk_up.save(update_fields=["looked_at", "looked_by", "answer"])
    record("look at walk-up", walk_up.booking, by=by, now=now, fields=("answer",))
