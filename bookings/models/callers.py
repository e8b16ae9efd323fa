"""Who does not book by the web: how a caller agreed, and letters that go by post."""

from __future__ import annotations

from django.conf import settings
from django.db import models

from bookings.models.bookings import Booking
from bookings.models.messages import OutboxMessage


class CallersConsent(models.Model):
    """How somebody for whom staff booked agreed to the ground rules and to what is kept of them, and who heard it."""

    class How(models.TextChoices):
        PHONE = "phone", "On the telephone"
        IN_PERSON = "in_person", "In person"
        LETTER = "letter", "In a letter"

    booking = models.OneToOneField(Booking, on_delete=models.CASCADE, related_name="callers_consent")
    how = models.CharField(max_length=10, choices=How)
    heard_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.booking}: {self.get_how_display()}"


class PaperLetter(models.Model):
    """A message to somebody without e-mail: printed and posted by a person. Until then it waits in a list."""

    message = models.OneToOneField(OutboxMessage, on_delete=models.CASCADE, related_name="paper")
    laid_out_at = models.DateTimeField()
    settled_at = models.DateTimeField(null=True, blank=True, help_text="When it was posted or set aside")
    settled_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )

    class Meta:
        constraints = [
            # Whoever asks later whether a letter went out needs a name to ask.
            models.CheckConstraint(
                condition=models.Q(settled_at__isnull=True, settled_by__isnull=True)
                | models.Q(settled_at__isnull=False, settled_by__isnull=False),
                name="a_settled_letter_has_a_name",
            ),
        ]
        indexes = [
            # The list of what is to be posted.
            models.Index(fields=["settled_at", "laid_out_at"], name="letters_to_post"),
        ]

    def __str__(self) -> str:
        return f"{self.message} on paper"
