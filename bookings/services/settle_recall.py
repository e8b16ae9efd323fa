"""Say what became of a recalled copy: its holder destroyed it, it came back, or a person gives it up with a reason."""

from __future__ import annotations

from datetime import datetime

from bookings.errors import NotSettled
from bookings.models import Recall
from foraywright.floor.acts import By, act, record
from foraywright.floor.models import User


@act
def settle_recall(recall: Recall, state: str, *, by: By, reason: str = "", now: datetime) -> Recall:
    """Put `recall` into `state` (acknowledged, returned or given up). Raises NotSettled.

    The row is locked: the holder's answer and the office's word may come in the same moment.
    """
    recall = Recall.objects.select_for_update().get(pk=recall.pk)
    if recall.is_settled:
        return recall
    if state == Recall.State.GIVEN_UP and not (reason.strip() and isinstance(by, User)):
        raise NotSettled("The copy was not given up.", why=["Say why: the reason stays in the record."])
    recall.state, recall.changed_at, recall.reason = state, now, reason.strip()
    recall.settled_by = by.public_id if isinstance(by, User) else by
    recall.save(update_fields=["state", "changed_at", "reason", "settled_by"])
    record("settle recall", recall, by=by, now=now, fields=("state",))
    return recall
