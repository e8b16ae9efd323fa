"""Walks whose income was taken into the books."""

from __future__ import annotations

from django.db import models

from walks.models import Walk


class IncomeTaken(models.Model):
    """What was sold of `walk` moved from walks not yet held to income: once, by the worker, after its end."""

    walk = models.OneToOneField(Walk, on_delete=models.PROTECT, related_name="income_taken")
    at = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.walk} {self.at:%Y-%m-%d}"
