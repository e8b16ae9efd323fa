"""A recall: everybody who holds a withdrawn version, and what became of their copy."""

from __future__ import annotations

from django.db import models

from bookings.models.bookings import Booking
from curriculum.models import Withdrawal
from foraywright.floor.ids import new_public_id
from walks.models import Guide


class Recall(models.Model):
    """One holder of a withdrawn version: told by letter (a booking) or by word (a guide, a member of staff)."""

    class State(models.TextChoices):
        TO_TELL = "to_tell", "To be told"
        SENT = "sent", "Letter accepted by the mail server"
        ACKNOWLEDGED = "acknowledged", "Says that the copy is destroyed"
        RETURNED = "returned", "Copy came back"
        GIVEN_UP = "given_up", "Given up"

    public_id = models.CharField(max_length=20, unique=True, default=new_public_id, editable=False)
    withdrawal = models.ForeignKey(Withdrawal, on_delete=models.PROTECT, related_name="recalls")
    booking = models.ForeignKey(Booking, null=True, blank=True, on_delete=models.PROTECT, related_name="recalls")
    guide = models.ForeignKey(Guide, null=True, blank=True, on_delete=models.PROTECT, related_name="recalls")
    printed_by = models.CharField(max_length=20, blank=True, help_text="Public id of the staff account that printed")
    state = models.CharField(max_length=14, choices=State, default=State.TO_TELL)
    changed_at = models.DateTimeField()
    settled_by = models.CharField(max_length=20, blank=True, help_text="Who said that it came back or is given up")
    reason = models.CharField(max_length=300, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=(
                    models.Q(booking__isnull=False, guide__isnull=True, printed_by="")
                    | models.Q(booking__isnull=True, guide__isnull=False, printed_by="")
                    | models.Q(booking__isnull=True, guide__isnull=True) & ~models.Q(printed_by="")
                ),
                name="a_recall_has_one_holder",
            ),
            # The worker may carry out a withdrawal twice; nobody is listed twice for it.
            models.UniqueConstraint(fields=["withdrawal", "booking"], name="recalled_once_a_booking"),
            models.UniqueConstraint(fields=["withdrawal", "guide"], name="recalled_once_a_guide"),
            models.UniqueConstraint(
                fields=["withdrawal", "printed_by"], condition=~models.Q(printed_by=""), name="recalled_once_a_printer"
            ),
            # A person gives up with a name and a reason, never silently.
            models.CheckConstraint(
                condition=~models.Q(state="given_up") | (~models.Q(settled_by="") & ~models.Q(reason="")),
                name="given_up_by_somebody_with_a_reason",
            ),
        ]

    @property
    def is_settled(self) -> bool:
        """Whether nothing more is to be done about this copy."""
        return self.state in (self.State.ACKNOWLEDGED, self.State.RETURNED, self.State.GIVEN_UP)

    def __str__(self) -> str:
        return f"{self.withdrawal}: {self.public_id}"
