"""A booking of an offering by a party; a place is the attendance of one person on one walk."""

from __future__ import annotations

from django.db import models

from bookings.models.people import Party, Person
from foraywright.floor.ids import new_public_id
from foraywright.floor.models import PolicyVersion
from walks.models import Offering, Walk


class Booking(models.Model):
    """What a party has of an offering. Live = confirmed, or held with `held_until` after now."""

    class State(models.TextChoices):
        HELD = "held", "Held"
        CONFIRMED = "confirmed", "Confirmed"
        CANCELLED = "cancelled", "Cancelled"
        CALLED_OFF = "called_off", "Called off"

    public_id = models.CharField(max_length=20, unique=True, default=new_public_id, editable=False)
    code = models.CharField(max_length=8, unique=True, help_text="Can be spoken; ends in a check character")
    party = models.OneToOneField(Party, on_delete=models.PROTECT, related_name="booking")
    offering = models.ForeignKey(Offering, on_delete=models.PROTECT, related_name="bookings")
    state = models.CharField(max_length=12, choices=State)
    held_until = models.DateTimeField(null=True, blank=True)
    pay_by = models.DateField(null=True, blank=True, help_text="Last day for a transfer; empty: when we meet")
    # The random key that the form was issued with: the same form sent twice finds the booking it made.
    idempotency_key = models.CharField(max_length=40, unique=True)
    version = models.PositiveIntegerField(default=1, help_text="Raised by each change that the party is told of")
    booked_at = models.DateTimeField()
    cancelled_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=~models.Q(state="held") | models.Q(held_until__isnull=False), name="a_hold_has_its_end"
            ),
        ]
        indexes = [
            # Live bookings of an offering: the count under the lock, the register, the staff page.
            models.Index(fields=["offering", "state"], name="bookings_of_an_offering"),
        ]

    def __str__(self) -> str:
        return self.code


class BookingLine(models.Model):
    """What one person's attendance costs, frozen at the sale: price, VAT, discount and the policies' versions."""

    booking = models.ForeignKey(Booking, on_delete=models.PROTECT, related_name="lines")
    person = models.OneToOneField(Person, null=True, on_delete=models.SET_NULL, related_name="line")
    label = models.CharField(max_length=60)
    price_minor = models.PositiveIntegerField()
    discount_minor = models.PositiveIntegerField(default=0)
    currency = models.CharField(max_length=3)
    vat_basis_points = models.PositiveIntegerField()
    prices = models.ForeignKey(PolicyVersion, on_delete=models.PROTECT, related_name="+")
    refunds = models.ForeignKey(PolicyVersion, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(discount_minor__lte=models.F("price_minor")), name="discount_within_the_price"
            ),
        ]

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
