"""Who came to the meeting point without a booking: what was agreed there, beside the booking that it became."""

from __future__ import annotations

from django.conf import settings
from django.db import models

from bookings.models.bookings import Booking
from bookings.models.register import RegisterCopy
from foraywright.floor.ids import new_public_id
from foraywright.floor.sealed import SealedField
from walks.models import Walk


class WalkUp(models.Model):
    """One party that was taken on at the meeting point. Names, places and money stand in its booking, as of others."""

    class Pays(models.TextChoices):
        CASH = "cash", "In cash, taken in full"
        CARD = "card", "By card at the meeting point, taken in full"
        LATER = "later", "Later, by transfer"

    class Heard(models.TextChoices):
        NOTHING = "nothing", "There is nothing the guide should know"
        TOLD = "told", "They told the guide, who knows it now"
        REFUSED = "refused", "They did not want to say"

    public_id = models.CharField(max_length=20, unique=True, default=new_public_id, editable=False)
    event = models.UUIDField(unique=True, help_text="Made where the party was added: the same one sent twice is one")
    booking = models.OneToOneField(Booking, on_delete=models.PROTECT, related_name="walk_up")
    walk = models.ForeignKey(Walk, on_delete=models.PROTECT, related_name="walk_ups")
    pays = models.CharField(max_length=5, choices=Pays)
    # What somebody said or kept back of their health is health, so it is sealed and goes with the declarations.
    heard = SealedField(null=True)
    came_at = models.DateTimeField(help_text="By the clock where the party was added")
    recorded_at = models.DateTimeField(help_text="By our clock")
    added_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    copy = models.ForeignKey(
        RegisterCopy,
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="walk_ups",
        help_text="The copy of the register on which it was added without signal; empty: with signal",
    )
    against = models.JSONField(default=list, help_text="Sentences: why the party would have been refused with signal")
    looked_at = models.DateTimeField(null=True, blank=True)
    looked_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    answer = models.CharField(max_length=300, blank=True, help_text="What follows from it, by whoever looked")

    class Meta:
        constraints = [
            # A broken limit is never settled by silence: somebody looked, and wrote what follows.
            models.CheckConstraint(
                condition=models.Q(looked_at=None, looked_by=None, answer="")
                | models.Q(looked_at__isnull=False, looked_by__isnull=False) & ~models.Q(answer=""),
                name="who_looked_at_a_walk_up_said_something",
            ),
        ]
        indexes = [
            # The front page: what nobody has looked at.
            models.Index(fields=["looked_at"], name="walk_ups_looked_at"),
        ]

    def __str__(self) -> str:
        return self.public_id
