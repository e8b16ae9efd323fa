"""The waiting list: who waits in which order, and the row by which the worker looks after a list."""

from __future__ import annotations

from django.db import models

from bookings.models.bookings import Booking
from foraywright.floor.leases import LeasedRow
from walks.models import Offering


class WaitingEntry(models.Model):
    """The place of a booking in the list of its offering; it waits while the booking's state says so."""

    booking = models.OneToOneField(Booking, on_delete=models.CASCADE, related_name="waiting")
    joined_at = models.DateTimeField(help_text="The order of the list; a party that grows joins anew")
    passed_over = models.PositiveSmallIntegerField(default=0, help_text="How often a later party was offered places")

    class Meta:
        indexes = [
            # The list in its order: by joining, then by key.
            models.Index(fields=["joined_at", "id"], name="waiting_in_order"),
        ]

    def __str__(self) -> str:
        return f"{self.booking} since {self.joined_at:%Y-%m-%d %H:%M}"


class WaitingList(LeasedRow):
    """The list of one offering as work for the worker: due at once where places come free, and every few minutes."""

    offering = models.OneToOneField(Offering, on_delete=models.CASCADE, related_name="waiting_list")

    class Meta:
        indexes = [
            # The worker's next list.
            models.Index(fields=["done_at", "due_at"], name="waiting_lists_due"),
        ]

    def __str__(self) -> str:
        return f"Waiting list of {self.offering}"
