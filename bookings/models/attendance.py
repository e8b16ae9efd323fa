"""Who came: marks that are only ever added, so that two phones without signal can be brought together."""

from __future__ import annotations

from django.db import models

from bookings.models.bookings import Place
from bookings.models.register import RegisterCopy


class AttendanceMark(models.Model):
    """One mark of one person on one walk. How somebody stands follows from all marks (compute/attendance.py)."""

    class State(models.TextChoices):
        PRESENT = "present", "Present"
        ABSENT = "absent", "Absent"
        LEFT_EARLY = "left_early", "Left early"
        UNKNOWN = "unknown", "Not known"

    event = models.UUIDField(unique=True, help_text="Made where the mark was made: the same mark sent twice is one")
    place = models.ForeignKey(Place, on_delete=models.CASCADE, related_name="marks")
    state = models.CharField(max_length=12, choices=State)
    seen_at = models.DateTimeField(help_text="By the clock of the device")
    recorded_at = models.DateTimeField(help_text="By our clock")
    by = models.CharField(max_length=40, help_text="Public id of the staff account, or a word")
    copy = models.ForeignKey(
        RegisterCopy,
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="marks",
        help_text="The copy, and so the device, on which it was made without signal; empty: with signal",
    )
    settles = models.BooleanField(default=False, help_text="Made with all earlier marks in sight, so it overrules them")

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return f"{self.get_state_display()} at {self.seen_at}"
