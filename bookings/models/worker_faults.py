"""What the worker fails at: the row by which a person hears of it."""

from __future__ import annotations

from django.db import models


class WorkerFault(models.Model):
    """A kind of work that failed when it was last tried. Gone as soon as it succeeds; it repeats no value."""

    kind = models.CharField(max_length=60, unique=True, help_text="Name of the function that does it")
    fault = models.CharField(max_length=60, help_text="Type of the fault; what it went through stands in the log")
    since = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.kind}: {self.fault}"
