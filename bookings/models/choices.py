"""What a party chooses when we call its walk off: its money back, or another walk."""

from __future__ import annotations

from django.db import models

from bookings.models.bookings import Booking


class CallOffChoice(models.Model):
    """Open until `choose_by`; whoever has not chosen by then gets the money."""

    class Choice(models.TextChoices):
        REFUND = "refund", "Money back"
        MOVE = "move", "Another walk"
        VOUCHER = "voucher", "A voucher"
        NONE = "none", "Not chosen in time: money back"

    booking = models.OneToOneField(Booking, on_delete=models.CASCADE, related_name="call_off_choice")
    offered_at = models.DateTimeField()
    choose_by = models.DateTimeField()
    choice = models.CharField(max_length=10, choices=Choice, blank=True)
    chosen_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            # A choice without its instant could not be explained afterwards.
            models.CheckConstraint(
                condition=models.Q(choice="", chosen_at__isnull=True)
                | ~models.Q(choice="") & models.Q(chosen_at__isnull=False),
                name="a_choice_has_its_instant",
            ),
        ]
        indexes = [
            # The worker's next choice that nobody made.
            models.Index(fields=["choice", "choose_by"], name="choices_that_run_out"),
        ]

    def __str__(self) -> str:
        return f"{self.booking}: {self.get_choice_display() or 'open'}"
