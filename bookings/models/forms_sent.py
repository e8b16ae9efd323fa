"""Forms that were carried out, so that the same form sent again does nothing more."""

from __future__ import annotations

from django.db import models

from bookings.models.bookings import Booking


class FormSent(models.Model):
    """The random key of a form that changed `booking`."""

    key = models.CharField(max_length=40, unique=True)
    booking = models.ForeignKey(Booking, on_delete=models.CASCADE, related_name="forms_sent")
    act = models.CharField(max_length=30)
    at = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.act} {self.at:%Y-%m-%d %H:%M}"
