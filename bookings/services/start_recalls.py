"""Carry out a withdrawal: list everybody who holds the version, and write to those who booked.

The row of the withdrawal was written by the room below, which knows nobody who booked; the worker claims it here.
"""

from __future__ import annotations

from datetime import datetime

from django.db.models import Q

from bookings.models import Booking, Delivery, OutboxMessage, Recall
from bookings.services.outbox import write_to
from curriculum.models import Document, Withdrawal
from foraywright.floor.acts import act, record
from foraywright.floor.leases import claim, finish


def start_next_recall(*, now: datetime) -> Withdrawal | None:
    """Claim the next withdrawal and tell its holders; None where nothing is due."""
    withdrawal = claim(Withdrawal, now=now)
    if withdrawal is not None:
        _tell(withdrawal, now=now)
    return withdrawal


@act
def _tell(withdrawal: Withdrawal, *, now: datetime) -> None:
    documents = documents_holding(withdrawal)
    for booking in bookings_holding(documents):
        Recall.objects.get_or_create(withdrawal=withdrawal, booking=booking, defaults={"changed_at": now})
        write_to(booking, OutboxMessage.Kind.RECALL, version=withdrawal.pk, now=now)
    others = Delivery.objects.filter(document__in=documents, booking=None)
    for guide_id, printed_by in others.values_list("guide", "printed_by").distinct():
        Recall.objects.get_or_create(
            withdrawal=withdrawal, guide_id=guide_id, printed_by=printed_by, defaults={"changed_at": now}
        )
    record("start recall", withdrawal.version, by="worker", now=now, fields=("recalls",))
    finish(withdrawal, now=now)


def documents_holding(withdrawal: Withdrawal) -> list[Document]:
    """Every document that was built with the withdrawn version, or an earlier one of the taxon, in it. One query."""
    version = withdrawal.version
    taken = Q(versions__taxon=version.taxon_id, versions__number__lte=version.number)
    return list(Document.objects.filter(taken).exclude(file="").distinct())


def bookings_holding(documents: list[Document]) -> list[Booking]:
    """Bookings that were given one of the documents, or whose own page laid one out. One query.

    Whoever had a link to a walk's booklet may have fetched it, so everybody who booked the walk counts, whatever became
    of the booking.
    """
    walks = [one.subject_id for one in documents]
    was_on_it = Q(offering__walks__public_id__in=walks) | Q(places__walk__public_id__in=walks)
    held = Q(deliveries__document__in=documents) | was_on_it
    return list(Booking.objects.filter(held).select_related("party__contact").distinct().order_by("pk"))
