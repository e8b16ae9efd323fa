"""Groups with leaders of their own: what a school or club asks for, and what it is quoted."""

from __future__ import annotations

from django.conf import settings
from django.db import models

from bookings.models.bookings import Booking
from foraywright.floor.ids import new_public_id
from walks.models import Offering


class GroupEnquiry(models.Model):
    """What a school or club asks for. Name and addresses are personal data of whoever asks."""

    TOLD = ("name", "email", "phone", "dates", "ages", "needs")
    """What whoever asks wrote in words of their own; the name of the school or club is nobody's."""

    public_id = models.CharField(max_length=20, unique=True, default=new_public_id, editable=False)
    group = models.CharField(max_length=120, help_text="School or club")
    name = models.CharField(max_length=120, blank=True)
    email = models.EmailField(blank=True)
    phone = models.CharField(max_length=30, blank=True)
    dates = models.CharField(max_length=300, help_text="As they wrote it, e.g. a Tuesday in May")
    size = models.PositiveSmallIntegerField(help_text="Participants, their own leaders left out")
    leaders = models.PositiveSmallIntegerField(help_text="Adults of theirs who come as leaders")
    ages = models.CharField(max_length=120, help_text="As they wrote it, e.g. 8 and 9")
    needs = models.TextField(blank=True)
    asked_at = models.DateTimeField()
    forgotten_at = models.DateTimeField(null=True, blank=True, help_text="When what is personal was taken out")

    class Meta:
        indexes = [
            # The list of enquiries, and those whose time is over.
            models.Index(fields=["asked_at"], name="enquiries_by_day"),
        ]

    def __str__(self) -> str:
        return self.group


class GroupQuote(models.Model):
    """A price for one group on one private offering. Accepted by link, it becomes a booking with one line."""

    public_id = models.CharField(max_length=20, unique=True, default=new_public_id, editable=False)
    enquiry = models.ForeignKey(GroupEnquiry, on_delete=models.PROTECT, related_name="quotes")
    offering = models.ForeignKey(Offering, on_delete=models.PROTECT, related_name="quotes")
    leaders = models.PositiveSmallIntegerField(help_text="Adults in charge of the children; they pay nothing")
    bands = models.JSONField(help_text="One band a participant, leaders left out")
    a_head_minor = models.PositiveIntegerField(null=True, blank=True, help_text="Price of one participant")
    flat_minor = models.PositiveIntegerField(null=True, blank=True, help_text="Price of the whole group")
    currency = models.CharField(max_length=3)
    valid_until = models.DateField(help_text="Last day on which it can be accepted")
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    made_at = models.DateTimeField()
    withdrawn_at = models.DateTimeField(null=True, blank=True, help_text="When the office took it back")
    declined_at = models.DateTimeField(null=True, blank=True, help_text="When the group said that it does not want it")
    booking = models.ForeignKey(
        Booking,
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="quotes",
        help_text="What it became; a later quote of the same walk changes the same booking",
    )

    @property
    def leaders_in_words(self) -> str:
        """ "2 leaders"."""
        return f"{self.leaders} leader{'' if self.leaders == 1 else 's'}"

    class Meta:
        constraints = [
            # A quote with two prices, or with none, could not be invoiced.
            models.CheckConstraint(
                condition=models.Q(a_head_minor__isnull=False, flat_minor__isnull=True)
                | models.Q(a_head_minor__isnull=True, flat_minor__isnull=False),
                name="a_quote_has_one_price",
            ),
            # What was accepted is cancelled as a booking is, under the terms of its sale.
            models.CheckConstraint(
                condition=models.Q(withdrawn_at=None) | models.Q(booking=None), name="no_accepted_quote_is_withdrawn"
            ),
            # Who said no and yes to the same quote would be asked for money that they refused.
            models.CheckConstraint(
                condition=models.Q(declined_at=None) | models.Q(booking=None, withdrawn_at=None),
                name="a_declined_quote_is_not_accepted_nor_withdrawn",
            ),
        ]

    @property
    def total_minor(self) -> int:
        """What the group pays, in minor units."""
        if self.a_head_minor is not None:
            return self.a_head_minor * len(self.bands)
        return self.flat_minor or 0

    def __str__(self) -> str:
        return f"{self.enquiry}: {self.offering}"
