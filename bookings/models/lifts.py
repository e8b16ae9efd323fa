"""Lifts that parties of one offering share. Opt-in, adults only, and nothing of it is kept after the walk."""

from __future__ import annotations

from django.db import models

from bookings.models.bookings import Booking
from foraywright.floor.ids import new_public_id


class LiftShare(models.Model):
    """What one booking offers or wants. Deleted when the booking ends or moves, and a day after the last walk."""

    class Kind(models.TextChoices):
        OFFERS = "offers", "Offers a lift"
        WANTS = "wants", "Wants a lift"

    class Shows(models.TextChoices):
        PHONE = "phone", "my phone number"
        EMAIL = "email", "my e-mail address"

    public_id = models.CharField(max_length=20, unique=True, default=new_public_id, editable=False)
    booking = models.OneToOneField(Booking, on_delete=models.PROTECT, related_name="lift")
    kind = models.CharField(max_length=6, choices=Kind)
    seats = models.PositiveSmallIntegerField(help_text="Seats free in the car, or seats wanted")
    area = models.CharField(max_length=80, help_text="Rough area in words, never an address")
    first_name = models.CharField(max_length=60, help_text="Shown once both agree")
    shows = models.CharField(max_length=5, choices=Shows, help_text="What is shown once both agree")
    adult_said_at = models.DateTimeField(help_text="When whoever asks said to be an adult of the party")
    lost_at = models.DateTimeField(null=True, help_text="When a lift that both had agreed to was ended by the other")

    class Meta:
        constraints = [
            models.CheckConstraint(condition=models.Q(seats__gte=1, seats__lte=8), name="lift_of_one_to_eight_seats"),
        ]

    def __str__(self) -> str:
        return self.public_id


class LiftAsk(models.Model):
    """One party asks another. Contact details are shown from the moment it is agreed, to these two only."""

    class State(models.TextChoices):
        OPEN = "open", "Not answered yet"
        AGREED = "agreed", "Agreed"
        DECLINED = "declined", "Declined"

    asker = models.ForeignKey(LiftShare, on_delete=models.CASCADE, related_name="asks_made")
    asked = models.ForeignKey(LiftShare, on_delete=models.CASCADE, related_name="asks_got")
    state = models.CharField(max_length=8, choices=State, default=State.OPEN)

    class Meta:
        constraints = [
            # Who was declined is not to press on: one question to one party.
            models.UniqueConstraint(fields=["asker", "asked"], name="one_question_to_one_party"),
            models.CheckConstraint(condition=~models.Q(asker=models.F("asked")), name="nobody_asks_themselves"),
        ]

    def __str__(self) -> str:
        return f"{self.asker} asks {self.asked}"
