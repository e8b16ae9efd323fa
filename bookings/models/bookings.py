"""A booking of an offering by a party; a place is the attendance of one person on one walk."""

from __future__ import annotations

from django.db import models

from bookings.compute.hold_times import MOST_EXTENSIONS
from bookings.compute.vat import WORDS, Category
from bookings.models.people import Party, Person
from foraywright.floor.ids import new_public_id
from foraywright.floor.models import PolicyVersion
from walks.models import Offering, Walk


class Booking(models.Model):  # type: ignore[django-manager-missing]  # card payments: their base brings no types
    """What a party has of an offering, or waits for. Live = confirmed, or held with `held_until` after now.

    One row from the first word on: who waits is offered places, and then books, under the same code and link.
    """

    class State(models.TextChoices):
        WAITING = "waiting", "On the waiting list"
        HELD = "held", "Held"
        CONFIRMED = "confirmed", "Confirmed"
        LAPSED = "lapsed", "Lapsed"
        CANCELLED = "cancelled", "Cancelled"
        CALLED_OFF = "called_off", "Called off"

    class HoldKind(models.TextChoices):
        CHECKOUT = "checkout", "While the party pays"
        OFFER = "offer", "Offered to a party that waited"

    public_id = models.CharField(max_length=20, unique=True, default=new_public_id, editable=False)
    code = models.CharField(max_length=8, unique=True, help_text="Can be spoken; ends in a check character")
    party = models.OneToOneField(Party, on_delete=models.PROTECT, related_name="booking")
    offering = models.ForeignKey(Offering, on_delete=models.PROTECT, related_name="bookings")
    state = models.CharField(max_length=12, choices=State)
    hold_kind = models.CharField(max_length=10, choices=HoldKind, blank=True)
    held_until = models.DateTimeField(null=True, blank=True)
    extensions = models.PositiveSmallIntegerField(default=0, help_text="How often this hold was made longer")
    session_ends_at = models.DateTimeField(
        null=True, blank=True, help_text="End of the payment's own session, which no hold outlasts"
    )
    refund_day = models.DateField(
        null=True, blank=True, help_text="The day that refunds are counted to, where a move kept an earlier one"
    )
    pay_by = models.DateField(null=True, blank=True, help_text="Last day for a transfer; empty: when we meet")
    # The random key that the form was issued with: the same form sent twice finds the booking it made.
    idempotency_key = models.CharField(max_length=40, unique=True)
    version = models.PositiveIntegerField(default=1, help_text="Raised by each change that the party is told of")
    cars = models.PositiveSmallIntegerField(default=0, help_text="Cars that the party brings")
    dogs = models.PositiveSmallIntegerField(default=0, help_text="Dogs that it brings; assistance dogs are not counted")
    booked_at = models.DateTimeField()
    agreed_at = models.DateTimeField(
        null=True, blank=True, help_text="When an offer was taken or the booking moved: changes by us count from then"
    )
    cancelled_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=~models.Q(state="held") | models.Q(held_until__isnull=False) & ~models.Q(hold_kind=""),
                name="a_hold_has_its_end",
            ),
        ]
        indexes = [
            # Live bookings of an offering: the count under the lock, the register, the staff page.
            models.Index(fields=["offering", "state"], name="bookings_of_an_offering"),
            # The worker's next hold that is over or soon will be.
            models.Index(fields=["state", "held_until"], name="holds_by_their_end"),
            # The office's list, newest first.
            models.Index(fields=["-booked_at", "-id"], name="bookings_newest_first"),
        ]

    @property
    def may_be_held_longer(self) -> bool:
        """Whether one press makes a running hold longer. An offer has a fixed end: others wait."""
        fits = self.session_ends_at is None or self.held_until != self.session_ends_at
        return self.hold_kind == self.HoldKind.CHECKOUT and self.extensions < MOST_EXTENSIONS and fits

    def __str__(self) -> str:
        return self.code


class BookingLine(models.Model):
    """What one person's attendance costs, frozen at the sale: price, VAT, discount and the policies' versions."""

    booking = models.ForeignKey(Booking, on_delete=models.PROTECT, related_name="lines")
    person = models.OneToOneField(Person, null=True, on_delete=models.SET_NULL, related_name="line")
    label = models.CharField(max_length=60)
    concession = models.CharField(max_length=60, blank=True, help_text="The concession in words, as it was sold")
    price_minor = models.PositiveIntegerField()
    discount_minor = models.PositiveIntegerField(default=0)
    currency = models.CharField(max_length=3)
    vat_basis_points = models.PositiveIntegerField()
    vat_minor = models.PositiveIntegerField(default=0, help_text="Tax contained in price less discount")
    vat_category = models.CharField(max_length=12, blank=True, choices=[(one.value, WORDS[one]) for one in Category])
    vat = models.ForeignKey(
        PolicyVersion,
        null=True,
        on_delete=models.PROTECT,
        related_name="+",
        help_text="Empty: sold at the rate that the price list itself had",
    )
    prices = models.ForeignKey(PolicyVersion, on_delete=models.PROTECT, related_name="+")
    refunds = models.ForeignKey(PolicyVersion, on_delete=models.PROTECT, related_name="+")
    ended_at = models.DateTimeField(null=True, blank=True, help_text="When the person was cancelled or moved away")
    kept_minor = models.PositiveIntegerField(default=0, help_text="Of an ended line: what is still due of its price")

    class Meta:
        constraints = [
            # What is due of a line is its price until it ends, and what was kept from then on: never both.
            models.CheckConstraint(
                condition=models.Q(ended_at__isnull=False) | models.Q(kept_minor=0), name="only_an_ended_line_keeps"
            ),
            models.CheckConstraint(
                condition=models.Q(kept_minor__lte=models.F("price_minor") - models.F("discount_minor")),
                name="kept_within_what_was_due",
            ),
            models.CheckConstraint(
                condition=models.Q(discount_minor__lte=models.F("price_minor")), name="discount_within_the_price"
            ),
        ]

    @property
    def net_minor(self) -> int:
        """Price less discount, in minor units."""
        return self.price_minor - self.discount_minor

    def __str__(self) -> str:
        return f"{self.booking} {self.label}"


class Place(models.Model):
    """The attendance of one person on one walk. Deleted with the person; given back when the booking ends."""

    booking = models.ForeignKey(Booking, on_delete=models.PROTECT, related_name="places")
    walk = models.ForeignKey(Walk, on_delete=models.PROTECT, related_name="places")
    person = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="places")
    given_back_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            # The backstop of the sale: a fault raises rather than seats somebody twice.
            models.UniqueConstraint(fields=["walk", "person"], name="person_once_a_walk"),
        ]

    def __str__(self) -> str:
        return f"{self.booking} on {self.walk}"
