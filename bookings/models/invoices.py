"""Invoices, credit notes and receipts as they were issued."""

from __future__ import annotations

from django.db import models

from bookings.models.bookings import Booking
from foraywright.floor.ids import new_public_id


class Invoice(models.Model):
    """A numbered paper about money, frozen with all that it prints: by trigger, only the buyer may be emptied.

    `lines`: see `bookings.compute.invoices.Charged`; amounts are positive, the kind says which way they go.
    """

    class Kind(models.TextChoices):
        INVOICE = "invoice", "Invoice"
        CREDIT_NOTE = "credit_note", "Credit note"
        RECEIPT = "receipt", "Receipt"

    public_id = models.CharField(max_length=20, unique=True, default=new_public_id, editable=False)
    kind = models.CharField(max_length=12, choices=Kind)
    number = models.PositiveBigIntegerField(help_text="Without gaps within the kind, and never given again")
    booking = models.ForeignKey(Booking, on_delete=models.PROTECT, related_name="invoices")
    issued_at = models.DateTimeField()
    issued_on = models.DateField(help_text="The day by the clock of the business")
    about = models.CharField(max_length=200, help_text="What was supplied")
    supplied = models.JSONField(help_text="The days on which it is supplied, as ISO 8601 writes them")
    seller = models.JSONField(help_text="Name, address and VAT number as printed")
    buyer = models.TextField(blank=True, help_text="Name and address as printed; empty once it was erased")
    currency = models.CharField(max_length=3)
    lines = models.JSONField()
    total_minor = models.PositiveBigIntegerField()
    reference = models.CharField(max_length=30, help_text="Creditor reference of the booking")

    class Meta:
        ordering = ["issued_at", "pk"]
        constraints = [
            # Tax law asks for a number that identifies the paper: two of the same would not.
            models.UniqueConstraint(fields=["kind", "number"], name="one_paper_a_kind_and_number"),
            models.CheckConstraint(condition=models.Q(number__gt=0, total_minor__gt=0), name="a_paper_of_something"),
        ]

    @property
    def title(self) -> str:
        """Kind and number: "Credit note 12"."""
        return f"{self.get_kind_display()} {self.number}"

    @property
    def buyer_name(self) -> str:
        """The first line of the buyer as printed; empty once it was erased."""
        return self.buyer.partition("\n")[0].strip()

    def __str__(self) -> str:
        return self.title
