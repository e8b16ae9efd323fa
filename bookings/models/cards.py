"""Payments by card on a provider's own page, and what the provider told us of them."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import ClassVar, NoReturn

from django.conf import settings
from django.db import models
from django.urls import reverse
from payments import PaymentStatus
from payments.models import BasePayment

from bookings.models.bank import BankLine
from bookings.models.bookings import Booking
from bookings.models.vouchers import Voucher, VoucherOrder
from foraywright.floor.compute.money import in_minor
from foraywright.floor.ids import new_public_id

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
OPEN = (PaymentStatus.WAITING, PaymentStatus.INPUT)
"""States in which nothing is known yet of a payment that was begun."""


@dataclass(frozen=True, slots=True)
class ChargebackTold:
    """A chargeback as a notice tells of it. `key`: the provider's name of it; `given_back`: it was decided for us."""

    key: str
    amount_minor: int
    given_back: bool


def _nothing() -> NoReturn:
    raise ValueError("Money by card is for something; the database guarantees it.")


class CardPayment(BasePayment):
    """One try to pay a booking, or a voucher that was ordered, by card.

    Card numbers never reach us; we leave the fields for addresses empty.
    """

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
    NOTHING_TOLD: ClassVar = dict.fromkeys(TOLD, "") | {"customer_ip_address": None}

    booking = models.ForeignKey(Booking, null=True, blank=True, on_delete=models.PROTECT, related_name="card_payments")
    order = models.ForeignKey(
        VoucherOrder,
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="card_payments",
        help_text="The order of a voucher that it pays, where it pays no booking",
    )
    voucher = models.OneToOneField(
        Voucher,
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="card_payment",
        help_text="The voucher that was issued for it",
    )
    written_minor = models.PositiveBigIntegerField(default=0, help_text="What of it stands in the ledger")
    fee_minor = models.PositiveBigIntegerField(
        null=True,
        blank=True,
        help_text="What the provider kept of it, as the ledger has it; empty: not known yet",
    )

    fee_payout = models.ForeignKey(
        "bookings.CardPayout",
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="+",
        help_text="The payout of whose fee this is the share; empty where the provider said the fee of this payment",
    )

    # The package keeps two decimals; ISO 4217 has currencies with three and four.
    total = models.DecimalField(max_digits=15, decimal_places=4, default=Decimal(0))
    captured_amount = models.DecimalField(max_digits=15, decimal_places=4, default=Decimal(0))
    page_ends_at = models.DateTimeField(
        null=True, blank=True, help_text="When the provider's page ends; empty where the provider does not say"
    )
    withdraw_next_at = models.DateTimeField(
        null=True, blank=True, help_text="Before then no worker tries to withdraw the page"
    )
    withdraw_attempts = models.PositiveSmallIntegerField(default=0)
    cannot_withdraw = models.BooleanField(
        default=False, help_text="No word came and the provider did not withdraw the page: a person looks"
    )

    fee_told: int | None = None
    """What a notice says the provider keeps of it, minor units; set by a provider's code that knows, never stored."""
    chargeback_told: ChargebackTold | None = None
    """The chargeback that a notice tells of; set likewise."""

    class Meta:
        constraints = [
            # The provider finds the payment by it.
            models.UniqueConstraint(fields=["token"], name="card_payment_by_its_token"),
            models.CheckConstraint(
                condition=models.Q(booking__isnull=False, order=None, voucher=None)
                | models.Q(booking=None, order__isnull=False),
                name="card_payment_of_a_booking_or_an_order",
            ),
        ]

    @property
    def paid_for(self) -> Booking | VoucherOrder:
        """What it pays."""
        return self.booking or self.order or _nothing()

    def is_open(self) -> bool:
        """Whether it may still be paid for all that we know."""
        return self.status in OPEN

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


class Chargeback(models.Model):
    """The holder of a card took a payment back through their bank. Until a person says what follows it waits."""

    class State(models.TextChoices):
        WAITING = "waiting", "Waits for a person"
        OWED = "owed", "Owed again"
        TAKEN_OFF = "taken_off", "Taken off the voucher"
        WRITTEN_OFF = "written_off", "Written off"
        GIVEN_BACK = "given_back", "Given back by the provider"
        MISTAKE = "mistake", "Noted by mistake"

    NOT_GONE = (State.GIVEN_BACK, State.MISTAKE)
    """States in which its money is with the provider again, or never left it."""

    public_id = models.CharField(max_length=20, unique=True, default=new_public_id, editable=False)
    booking = models.ForeignKey(Booking, null=True, blank=True, on_delete=models.PROTECT, related_name="chargebacks")
    voucher = models.ForeignKey(
        Voucher,
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="chargebacks",
        help_text="The voucher that was paid for with the card, where no booking was",
    )
    payment = models.ForeignKey(
        CardPayment,
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="chargebacks",
        help_text="The payment on the provider's page; empty: the card was taken at the meeting point",
    )
    currency = models.CharField(max_length=3)
    provider_key = models.CharField(
        max_length=60, blank=True, help_text="The provider's own name of it; empty while only the office told of it"
    )
    # The random key of the office's form: the same form sent twice is one chargeback.
    key = models.CharField(max_length=40, unique=True, default=new_public_id)
    amount_minor = models.PositiveBigIntegerField()
    fee_minor = models.PositiveBigIntegerField(default=0, help_text="What the provider charged for it")
    came_at = models.DateTimeField()
    state = models.CharField(max_length=12, choices=State, default=State.WAITING)
    settled_at = models.DateTimeField(null=True, blank=True)
    settled_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    reason = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering = ["came_at", "pk"]
        constraints = [
            # A provider tells of one as often as it likes.
            models.UniqueConstraint(
                fields=["payment", "provider_key"],
                condition=~models.Q(provider_key=""),
                name="chargeback_by_the_providers_key",
            ),
            models.CheckConstraint(condition=models.Q(amount_minor__gt=0), name="chargeback_of_more_than_nothing"),
            # A party owes what it paid no more; whoever has a voucher owes nothing, and has less on it.
            models.CheckConstraint(
                condition=models.Q(booking__isnull=False, voucher=None) & ~models.Q(state="taken_off")
                | models.Q(booking=None, voucher__isnull=False) & ~models.Q(state="owed"),
                name="chargeback_of_a_booking_or_a_voucher",
            ),
            # Notices tell of payments on the provider's page only.
            models.CheckConstraint(
                condition=models.Q(payment__isnull=False) | models.Q(provider_key=""),
                name="no_notice_of_the_meeting_point",
            ),
            # Money is let go by a named person, who says why.
            models.CheckConstraint(
                condition=~models.Q(state="written_off") | models.Q(settled_by__isnull=False) & ~models.Q(reason=""),
                name="written_off_by_somebody_for_a_reason",
            ),
            # What the provider told of is no mistake of the office.
            models.CheckConstraint(
                condition=~models.Q(state="mistake")
                | models.Q(provider_key="", settled_by__isnull=False) & ~models.Q(reason=""),
                name="a_mistake_of_somebody_for_a_reason",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.amount_minor} {self.get_state_display()}"

    @property
    def paid_for(self) -> Booking | Voucher:
        """What was paid for with the card."""
        return self.booking or self.voucher or _nothing()

    @property
    def account(self) -> str:
        """The account of the ledger into which the card's money had come."""
        return "cash" if self.payment_id is None else "card"

    @property
    def is_settled_by_hand(self) -> bool:
        """Whether a person said what follows; what the provider said since is its word."""
        return self.settled_by_id is not None and self.state != self.State.MISTAKE

    @property
    def is_only_by_hand(self) -> bool:
        """Whether it waits, and nobody but the office told of it."""
        return self.state == self.State.WAITING and not self.provider_key


class CardPayout(models.Model):
    """The provider passed on what was paid by card, or charged for its services."""

    public_id = models.CharField(max_length=20, unique=True, default=new_public_id, editable=False)
    # The random key of the form: the same form sent twice is one payout.
    key = models.CharField(max_length=40, unique=True)
    line = models.ForeignKey(
        BankLine,
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="payouts",
        help_text="The line of the bank's statement that says it; empty: noted by hand",
    )
    passed_on_minor = models.PositiveBigIntegerField()
    fee_minor = models.PositiveBigIntegerField()
    is_shared = models.BooleanField(help_text="The fee stands on the card payments; else it is the business's own")
    currency = models.CharField(max_length=3)
    noted_at = models.DateTimeField()
    reason = models.CharField(max_length=120, blank=True)
    taken_back_at = models.DateTimeField(null=True, blank=True)
    taken_back_for = models.CharField(max_length=120, blank=True, help_text="Why it was noted by mistake")

    class Meta:
        ordering = ["-noted_at", "-pk"]
        constraints = [
            # Whoever takes one back says why.
            models.CheckConstraint(
                condition=models.Q(taken_back_at=None, taken_back_for="")
                | models.Q(taken_back_at__isnull=False) & ~models.Q(taken_back_for=""),
                name="payout_taken_back_for_a_reason",
            ),
            models.CheckConstraint(
                condition=models.Q(passed_on_minor__gt=0) | models.Q(fee_minor__gt=0), name="payout_of_something"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.passed_on_minor} {self.currency}"
