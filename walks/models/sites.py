"""Sites: where a walk can be held, and the landowner's permission to hold it there."""

from __future__ import annotations

from datetime import timedelta, tzinfo
from decimal import Decimal

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from simple_history.models import HistoricalRecords

from foraywright.floor.compute.folding import folded
from foraywright.floor.compute.zones import clock_of
from foraywright.floor.ids import new_public_id
from walks.compute.closed_seasons import season_from
from walks.compute.permission_rules import Permission


def _degrees(limit: int, help_text: str) -> models.DecimalField[Decimal, Decimal]:
    return models.DecimalField(
        max_digits=9,
        decimal_places=6,
        validators=[MinValueValidator(-limit), MaxValueValidator(limit)],
        help_text=help_text,
    )


class Site(models.Model):
    """A wood, a pasture, a shore. The public meeting point and the exact ground are two fields."""

    class Coverage(models.TextChoices):
        GOOD = "good", "Good"
        PATCHY = "patchy", "Patchy"
        NONE = "none", "None"
        UNKNOWN = "unknown", "Not known"

    public_id = models.CharField(max_length=20, unique=True, default=new_public_id, editable=False)
    name = models.CharField(max_length=80, unique=True)
    folded = models.CharField(max_length=80, editable=False, db_index=True)
    zone = models.CharField(max_length=40, default="Europe/London", help_text="IANA time zone, e.g. Europe/London")
    meeting_point = models.CharField(max_length=200, help_text="In words, e.g. the east gate, by the notice board")
    reference_as_typed = models.CharField(max_length=60, help_text="Grid reference as typed, e.g. SU 387 148")
    reference_datum = models.CharField(max_length=20)
    reference_precision_m = models.PositiveIntegerField()
    latitude = _degrees(90, "Meeting point, WGS84, e.g. 51.123456")
    longitude = _degrees(180, "Meeting point, WGS84, e.g. -3.654321")
    ground_as_typed = models.CharField(
        max_length=60, blank=True, help_text="Reference of the ground as typed; empty: not mapped apart"
    )
    ground_datum = models.CharField(max_length=20, blank=True)
    ground_precision_m = models.PositiveIntegerField(null=True, blank=True)
    ground_latitude = _degrees(90, "Middle of the ground that is walked; never shown in public")
    ground_longitude = _degrees(180, "Middle of the ground that is walked; never shown in public")
    habitats = models.JSONField(default=list, help_text="Habitat words of the vocabulary")
    host_trees = models.JSONField(default=list, blank=True, help_text="Host words of the vocabulary")
    hazards = models.JSONField(default=list, blank=True, help_text="Site hazard words of the hazard library")
    most_people = models.PositiveIntegerField(help_text="How many people the ground bears at once, guides included")
    step_free = models.BooleanField(default=False)
    ascent_m = models.PositiveIntegerField(null=True, blank=True, help_text="Climbing on the usual route, in metres")
    going = models.CharField(max_length=200, blank=True, help_text="e.g. 4 km, 80 m of climbing, muddy")
    parking = models.CharField(max_length=200, blank=True)
    car_spaces = models.PositiveSmallIntegerField(
        null=True, blank=True, help_text="Cars that parties may leave at the meeting point; empty: nobody counts them"
    )
    most_dogs = models.PositiveSmallIntegerField(default=0, help_text="Dogs that may come, on a lead; 0: none")
    shares_lifts = models.BooleanField(
        default=False, help_text="Parties may find a lift with each other for walks here"
    )
    toilets = models.CharField(max_length=200, blank=True)
    mobile_coverage = models.CharField(max_length=10, choices=Coverage, default=Coverage.UNKNOWN)
    emergency_department = models.CharField(max_length=200, blank=True)
    emergency_minutes = models.PositiveIntegerField(null=True, blank=True, help_text="By road, in minutes, e.g. 25")
    protected_status = models.CharField(max_length=200, blank=True)
    picking_rules = models.TextField(blank=True)
    route_is_public = models.BooleanField(default=False, help_text="A drawn route leads strangers to the ground")
    history = HistoricalRecords()

    class Meta:
        ordering = ["name"]

    @property
    def clock(self) -> tzinfo:
        """The clock of the place; where its zone is known no more, UTC."""
        return clock_of(self.zone, timedelta(0))

    def save(self, *args: object, **kwargs: object) -> None:
        self.folded = folded(self.name)
        super().save(*args, **kwargs)  # type: ignore[arg-type]

    def __str__(self) -> str:
        return self.name


class LandownersPermission(models.Model):
    """The landowner's leave to hold walks at a site. Outside it nothing is published. The contact is personal data."""

    public_id = models.CharField(max_length=20, unique=True, default=new_public_id, editable=False)
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="permissions")
    granted_by = models.CharField(max_length=120)
    valid_from = models.DateField()
    valid_to = models.DateField()
    days_a_year = models.PositiveIntegerField(null=True, blank=True, help_text="Most days in a calendar year, e.g. 20")
    most_people = models.PositiveIntegerField(help_text="Most people at once, guides included, e.g. 16")
    conditions = models.TextField(blank=True)
    closed_seasons = models.JSONField(default=list, blank=True, help_text="[[first, last], …], each MM-DD")

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(valid_to__gte=models.F("valid_from")), name="permission_ends_after_it_starts"
            ),
        ]

    @property
    def rule(self) -> Permission:
        """What is recorded, for the rules."""
        closed = tuple(season_from(one) for one in self.closed_seasons)
        return Permission(self.valid_from, self.valid_to, self.most_people, self.days_a_year, closed)

    def __str__(self) -> str:
        return f"{self.site}: {self.valid_from} to {self.valid_to}"


class InsuranceCover(models.Model):
    """Public liability cover of the business, with the group size that it is limited to."""

    public_id = models.CharField(max_length=20, unique=True, default=new_public_id, editable=False)
    insurer = models.CharField(max_length=120)
    policy_number = models.CharField(max_length=60)
    valid_from = models.DateField()
    valid_to = models.DateField()
    most_people = models.PositiveIntegerField(help_text="Most participants at once, e.g. 20")

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(valid_to__gte=models.F("valid_from")), name="cover_ends_after_it_starts"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.policy_number}: {self.valid_from} to {self.valid_to}"
