"""Discount codes: a word that takes a part, or an amount, off a party's price."""

from __future__ import annotations

from django.db import models

from bookings.models.bookings import Booking
from foraywright.floor.ids import new_public_id
from walks.models import Offering


class DiscountCode(models.Model):
    """So many per cent, or an amount, from one day to another, for one offering or all, for so many bookings."""

    public_id = models.CharField(max_length=20, unique=True, default=new_public_id, editable=False)
    code = models.CharField(max_length=20, unique=True, help_text="Capital letters and figures")
    label = models.CharField(max_length=60, help_text="What it is for, as the party reads it")
    percent = models.PositiveSmallIntegerField(default=0)
    amount_minor = models.PositiveIntegerField(default=0)
    currency = models.CharField(max_length=3)
    first_day = models.DateField()
    last_day = models.DateField()
    most_uses = models.PositiveIntegerField(null=True, blank=True, help_text="Empty: as often as people like")
    offering = models.ForeignKey(Offering, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    ended_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            # Of a code with both nobody could say what comes off first.
            models.CheckConstraint(
                condition=models.Q(percent=0, amount_minor__gt=0)
                | models.Q(percent__gt=0, percent__lte=100, amount_minor=0),
                name="a_part_or_an_amount_off",
            ),
            models.CheckConstraint(
                condition=models.Q(last_day__gte=models.F("first_day")), name="a_code_ends_after_it_begins"
            ),
        ]

    def __str__(self) -> str:
        return self.code


class DiscountUse(models.Model):
    """A booking that a code was used for, with what the code gave then; of an amount, the shares of who still comes."""

    code = models.ForeignKey(DiscountCode, on_delete=models.PROTECT, related_name="uses")
    booking = models.OneToOneField(Booking, on_delete=models.PROTECT, related_name="discount_use")
    percent = models.PositiveSmallIntegerField()
    amount_minor = models.PositiveIntegerField()
    at = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.code} for {self.booking}"
