"""The ledger as sums, and a transaction in which acts may run."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager

from django.db import connection, transaction

from bookings.models import Booking, Transfer


@contextmanager
def rolled_back() -> Iterator[None]:
    """A transaction in which acts may run, and which leaves nothing behind."""
    with transaction.atomic():
        connection.atomic_blocks[-1]._from_testcase = True
        yield
        transaction.set_rollback(True)


def accounts() -> Counter[str]:
    """Debits less credits by account."""
    sums: Counter[str] = Counter()
    for debit, credit, amount in Transfer.objects.values_list("debit__key", "credit__key", "amount_minor"):
        sums[debit] += amount
        sums[credit] -= amount
    return sums


def credited_to(booking: Booking, account: str) -> int:
    """Credits less debits of one account for one booking."""
    credit = booking.transfers.filter(credit__key=account).values_list("amount_minor", flat=True)
    debit = booking.transfers.filter(debit__key=account).values_list("amount_minor", flat=True)
    return sum(credit) - sum(debit)
