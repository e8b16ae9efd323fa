"""Season plans: what was asked for, what the solver proposes, and what people decided of each proposal."""

from __future__ import annotations

from django.conf import settings
from django.db import models

from foraywright.floor.ids import new_public_id
from foraywright.floor.leases import LeasedRow
from walks.models.guides import Guide
from walks.models.offerings import Offering
from walks.models.sites import Site
from walks.models.themes import Theme


class SeasonPlan(LeasedRow):
    """A plan that the worker makes. `asked` is what it was asked for, `result` what came of it, empty until then."""

    public_id = models.CharField(max_length=20, unique=True, default=new_public_id, editable=False)
    first_day = models.DateField()
    last_day = models.DateField()
    asked = models.JSONField(help_text="As walks/season_wanted.py reads it")
    asked_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+")
    asked_at = models.DateTimeField()
    before = models.ForeignKey("self", null=True, blank=True, on_delete=models.PROTECT, related_name="later_plans")
    steps_done = models.PositiveSmallIntegerField(default=0)
    steps = models.PositiveSmallIntegerField(default=0)
    result = models.JSONField(default=dict, blank=True)

    class Meta:
        ordering = ["-asked_at", "-pk"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(last_day__gte=models.F("first_day")), name="plan_ends_after_it_starts"
            ),
        ]
        indexes = [
            # The worker's next row.
            models.Index(fields=["done_at", "due_at"], name="season_plans_due"),
        ]

    def __str__(self) -> str:
        return f"{self.first_day} to {self.last_day}"


class PlanProposal(models.Model):
    """One walk that a plan proposes, and what somebody decided of it."""

    class State(models.TextChoices):
        PROPOSED = "proposed", "Proposed"
        PINNED = "pinned", "Pinned"
        DROPPED = "dropped", "Dropped"
        ACCEPTED = "accepted", "Accepted"

    public_id = models.CharField(max_length=20, unique=True, default=new_public_id, editable=False)
    plan = models.ForeignKey(SeasonPlan, on_delete=models.CASCADE, related_name="proposals")
    local_date = models.DateField()
    local_time = models.TimeField()
    minutes = models.PositiveIntegerField()
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="+")
    theme = models.ForeignKey(Theme, on_delete=models.PROTECT, related_name="+")
    guide = models.ForeignKey(Guide, on_delete=models.PROTECT, related_name="+")
    worth = models.PositiveIntegerField(help_text="Wanted species expected, in thousandths")
    state = models.CharField(max_length=10, choices=State, default=State.PROPOSED)
    offering = models.ForeignKey(Offering, null=True, blank=True, on_delete=models.SET_NULL, related_name="+")

    class Meta:
        ordering = ["local_date", "local_time", "pk"]
        constraints = [
            # Proposed twice, a walk could be accepted twice.
            models.UniqueConstraint(fields=["plan", "local_date", "site", "theme"], name="proposed_once_a_plan"),
        ]

    @property
    def expected(self) -> float:
        """How many of the wanted species the walk meets on average."""
        return self.worth / 1000

    def __str__(self) -> str:
        return f"{self.theme} {self.local_date}"
