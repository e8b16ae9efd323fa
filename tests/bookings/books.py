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


def writes() -> object:
    """Equal twice where nothing was written in between; where the database does not count, never equal."""
    return getattr(connection.connection, "total_changes", object())


def accounts() -> Counter[str]:
    """Debits less credits by account."""
    return Books().accounts


class Books:
    """All bookings with what hangs on them, and the sums of the ledger, each table read once."""

    def __init__(self) -> None:
        things = ("party__people", "lines", "messages", "places__walk", "offering__walks")
        self.bookings = list(Booking.objects.select_related("party", "offering").prefetch_related(*things))
        self.accounts: Counter[str] = Counter()
        self.by_booking: dict[int | None, Counter[str]] = {}
        rows = Transfer.objects.values_list("booking", "debit__key", "credit__key", "amount_minor")
        for booking, debit, credit, amount in rows:
            for sums in (self.accounts, self.by_booking.setdefault(booking, Counter())):
                sums[debit] += amount
                sums[credit] -= amount

    def of(self, booking: Booking) -> Counter[str]:
        """Debits less credits of the booking by account."""
        return self.by_booking.get(booking.pk, Counter())

    def due(self, booking: Booking) -> int:
        """What it costs as it stands: running lines of a sold booking, and what is kept of lines that ended."""
        sold = booking.state == Booking.State.CONFIRMED
        running = [one.price_minor - one.discount_minor for one in booking.lines.all() if one.ended_at is None]
        return sum(one.kept_minor or 0 for one in booking.lines.all()) + sum(running if sold else ())
