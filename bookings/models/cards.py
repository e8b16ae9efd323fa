"""Payments by card on a provider's own page, and what the provider told us of them."""

from __future__ import annotations

from decimal import Decimal

from django.conf import settings
from django.db import models
from django.urls import reverse
from payments import PaymentStatus
from payments.models import BasePayment

from bookings.models.bookings import Booking
from foraywright.floor.compute.money import in_minor

RANKS = {
    PaymentStatus.WAITING: 0,
    PaymentStatus.INPUT: 1,
    PaymentStatus.CANCELLED: 2,
    PaymentStatus.REJECTED: 2,
    PaymentStatus.ERROR: 2,
    PaymentStatus.PREAUTH: 3,
    PaymentStatus.CONFIRMED: 4,
    PaymentStatus.REFUNDED: 5,
}
"""How final a state is: notices come in any order, and an earlier state never replaces a later one."""


class CardPayment(BasePayment):
    """One try to pay a booking by card. Card numbers never reach us; we leave the fields for addresses empty."""

    TOLD = (
        "billing_first_name",
        "billing_last_name",
        "billing_address_1",
        "billing_address_2",
        "billing_city",
        "billing_postcode",
        "billing_country_code",
        "billing_country_area",
        "billing_email",
        "billing_phone",
        "customer_ip_address",
        "extra_data",
        "message",
        "fraud_message",
    )
    """What a provider may write of whoever paid: exported, and emptied with the names."""

    booking = models.ForeignKey(Booking, on_delete=models.PROTECT, related_name="card_payments")
    written_minor = models.PositiveBigIntegerField(default=0, help_text="What of it stands in the ledger")

    class Meta:
        constraints = [
            # The provider finds the payment by it.
            models.UniqueConstraint(fields=["token"], name="card_payment_by_its_token"),
        ]

    @property
    def captured_minor(self) -> int:
        """What the provider took from the card, in minor units."""
        return in_minor(Decimal(self.captured_amount), self.currency)

    @property
    def asked_minor(self) -> int:
        """What is asked of the card, in minor units."""
        return in_minor(Decimal(self.total), self.currency)

    def change_status(self, status: PaymentStatus | str, message: str = "") -> None:
        """Go on to `status`; a notice that comes late and tells of an earlier one changes nothing."""
        if RANKS[status] > RANKS[self.status]:
            super().change_status(status, message)

    def get_success_url(self) -> str:
        return settings.SITE_ADDRESS + reverse("card_done", args=[self.token])

    get_failure_url = get_success_url


class CardNotice(models.Model):
    """One notice of the provider, kept once however often it was sent."""

    event = models.CharField(max_length=80, unique=True)
    payment = models.ForeignKey(CardPayment, on_delete=models.PROTECT, related_name="notices")
    at = models.DateTimeField()
    status = models.CharField(max_length=10, help_text="Of the payment, after it")

    def __str__(self) -> str:
        return f"{self.status} {self.at:%Y-%m-%d %H:%M}"
