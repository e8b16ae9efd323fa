"""The ledger as transfers: debit ≠ credit, amount > 0, so it balances by construction. Append-only by trigger."""

from __future__ import annotations

from django.db import models

from bookings.models.bookings import Booking
from bookings.models.vouchers import Voucher
from foraywright.floor.ids import new_public_id


class LedgerAccount(models.Model):
    """One account of the chart."""

    key = models.CharField(max_length=30, unique=True)
    title = models.CharField(max_length=80)

    def __str__(self) -> str:
        return self.title


class Transfer(models.Model):
    """`amount_minor` moves from the credit account to the debit account. A mistake is put right by another."""

    class Kind(models.TextChoices):
        SALE = "sale", "Places sold"
        PAYMENT = "payment", "Payment received"
        CANCELLATION = "cancellation", "Sale taken back"
        CREDIT = "credit", "Credit put to use"
        REFUND = "refund", "Refund paid"
        TAX = "tax", "Tax owed"
        EARNED = "earned", "Walk held"
        FOUND = "found", "Found out whose it is"
        REVERSAL = "reversal", "Taken back by the bank"
        PAYOUT = "payout", "Passed on by the card provider"
        WRITE_OFF = "write_off", "Written off"
        CHARGEBACK = "chargeback", "Taken back by the card holder"
        GIVEN_BACK = "given_back", "Given back by the card provider"
        FEE = "fee", "Fee of the card provider"
        MISTAKE = "mistake", "Noted by mistake"

    public_id = models.CharField(max_length=20, unique=True, default=new_public_id, editable=False)
    at = models.DateTimeField()
    kind = models.CharField(max_length=14, choices=Kind)
    debit = models.ForeignKey(LedgerAccount, on_delete=models.PROTECT, related_name="debits")
    credit = models.ForeignKey(LedgerAccount, on_delete=models.PROTECT, related_name="credits")
    amount_minor = models.PositiveBigIntegerField()
    currency = models.CharField(max_length=3)
    booking = models.ForeignKey(Booking, null=True, blank=True, on_delete=models.PROTECT, related_name="transfers")
    voucher = models.ForeignKey(Voucher, null=True, blank=True, on_delete=models.PROTECT, related_name="transfers")
    vat_basis_points = models.PositiveIntegerField(
        null=True, blank=True, help_text="Of tax: its rate; empty too where it was booked before rates were noted"
    )
    memo = models.CharField(max_length=120, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=~models.Q(debit=models.F("credit")), name="transfer_between_two_accounts"),
            models.CheckConstraint(condition=models.Q(amount_minor__gt=0), name="transfer_of_more_than_nothing"),
        ]
        indexes = [
            # A booking's balance is a sum over its transfers.
            models.Index(fields=["booking", "at"], name="transfers_of_a_booking"),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.amount_minor} {self.currency}"
