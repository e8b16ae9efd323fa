"""Money that waits for a person: refunds that were promised, payments that nobody could match."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from django.db.models import Case, F, Max, Sum, When
from django.urls import reverse

from bookings.models import Transfer
from bookings.needs.need import Need
from foraywright.floor.compute.money import as_text
from foraywright.floor.compute.short_codes import spoken


def refunds(now: datetime) -> Iterator[Need]:
    """Refunds promised and not yet paid. One query."""
    for code, currency, amount in _standing("refunds_due"):
        words = f"{as_text(amount, currency)} is to be paid back for booking {spoken(code)}: it was promised."
        yield Need(words, reverse("staff_booking", args=[code]))


def unmatched(now: datetime) -> Iterator[Need]:
    """Money received that no booking owed. One query."""
    for code, currency, amount in _standing("unmatched"):
        words = (
            f"{as_text(amount, currency)} came for booking {spoken(code)} beyond what it owes. "
            "Find out what it was meant for, or pay it back."
        )
        yield Need(words, reverse("staff_booking", args=[code]))


def _standing(account: str) -> list[tuple[str, str, int]]:
    """Booking codes, currencies and minor units that stand to the credit of `account`, the oldest first. One query."""
    signed = Case(
        When(credit__key=account, then=F("amount_minor")), When(debit__key=account, then=-F("amount_minor")), default=0
    )
    rows = Transfer.objects.filter(booking__isnull=False).values("booking__code", "currency")
    standing = rows.annotate(amount=Sum(signed), last=Max("at")).filter(amount__gt=0).order_by("last")
    return list(standing.values_list("booking__code", "currency", "amount"))
