"""What the bank's statements say, line by line, and what became of each line."""

from __future__ import annotations

from django.db import models

from bookings.models.bookings import Booking
from foraywright.floor.ids import new_public_id


class BankLine(models.Model):
    """One payment of a statement. Money that came in stands in the ledger from the first moment on: in the account
    "unmatched" while the line waits. Of what went out neither name nor text is kept: we know whom we paid.
    """

    class State(models.TextChoices):
        WAITING = "waiting", "Waits for a person"
        MATCHED = "matched", "Matched to a booking"
        RETURNED = "returned", "Paid back"
        WRITTEN_OFF = "written_off", "Written off"
        FOR_VOUCHER = "for_voucher", "Paid for a voucher"
        FROM_CARDS = "from_cards", "From the card provider"
        WENT_OUT = "went_out", "Went out"

    public_id = models.CharField(max_length=20, unique=True, default=new_public_id, editable=False)
    account = models.CharField(max_length=60)
    statement = models.CharField(max_length=60)
    entry = models.CharField(max_length=80, help_text="The bank's reference of the entry within the statement")
    booked_on = models.DateField()
    amount_minor = models.PositiveBigIntegerField()
    currency = models.CharField(max_length=3)
    came_in = models.BooleanField()
    is_reversal = models.BooleanField(help_text="The bank took back an earlier entry")
    text = models.CharField(max_length=500, blank=True)
    payer = models.CharField(max_length=140, blank=True)
    taken_in_at = models.DateTimeField()
    state = models.CharField(max_length=12, choices=State)
    booking = models.ForeignKey(Booking, null=True, blank=True, on_delete=models.PROTECT, related_name="bank_lines")
    settled_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["booked_on", "pk"]
        constraints = [
            # The same statement taken in twice is one.
            models.UniqueConstraint(fields=["account", "statement", "entry"], name="bank_line_once"),
            models.CheckConstraint(condition=models.Q(amount_minor__gt=0), name="bank_line_of_more_than_nothing"),
            # A line is settled to a booking, or not at all.
            models.CheckConstraint(
                condition=models.Q(state="matched", booking__isnull=False)
                | ~models.Q(state="matched") & models.Q(booking=None),
                name="only_a_matched_line_has_a_booking",
            ),
        ]
        indexes = [
            # The page of what waits, and what the office looks back on.
            models.Index(fields=["state", "booked_on"], name="bank_lines_by_state"),
        ]

    def __str__(self) -> str:
        return f"{self.booked_on} {self.amount_minor} {self.currency}"
