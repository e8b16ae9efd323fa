"""Risk assessments: a draft that a person edits; what was signed, what was added in the wood, the weather, the start.

All but the draft are append-only by trigger: they are what somebody put their name to.
"""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.db import models

from foraywright.floor.ids import new_public_id
from walks.compute.risk_group import COVERS
from walks.models.offerings import Walk


def _signer() -> models.ForeignKey[Any, Any]:
    return models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")


class AssessmentDraft(models.Model):
    """What people changed in the composed assessment of a walk; the rest is composed whenever it is looked at."""

    walk = models.OneToOneField(Walk, on_delete=models.CASCADE, related_name="assessment_draft")
    covers = models.CharField(max_length=12, choices=COVERS.items(), default="everybody")
    arranged = models.JSONField(
        default=list, blank=True, help_text="Arrangements for access, as words of the hazard library; never the reasons"
    )
    edits = models.JSONField(default=list, blank=True, help_text="See walks/compute/risk_edits.py")
    changed_at = models.DateTimeField()

    def __str__(self) -> str:
        return f"Draft assessment of {self.walk}"


class SignedAssessment(models.Model):
    """A version of a walk's assessment that somebody signed. Append-only by trigger."""

    public_id = models.CharField(max_length=20, unique=True, default=new_public_id, editable=False)
    walk = models.ForeignKey(Walk, on_delete=models.PROTECT, related_name="assessments")
    number = models.PositiveIntegerField()
    covers = models.CharField(max_length=12, choices=COVERS.items())
    body = models.TextField(
        help_text="As composed and as signed, with every fact, its version and value: canonical JSON"
    )
    sha256 = models.CharField(max_length=64)
    signed_by = _signer()
    name = models.CharField(max_length=120)
    role = models.CharField(
        max_length=120, help_text="What lets this person assess it, e.g. leading guide, ten seasons"
    )
    signed_at = models.DateTimeField()

    class Meta:
        ordering = ["number"]
        constraints = [
            # A version is named on paper by its number.
            models.UniqueConstraint(fields=["walk", "number"], name="assessment_number_once_a_walk"),
        ]

    def __str__(self) -> str:
        return f"Assessment of {self.walk}, version {self.number}"


class AssessmentAddition(models.Model):
    """What changed since an assessment was signed and what is done about it. Append-only by trigger."""

    public_id = models.CharField(max_length=20, unique=True, default=new_public_id, editable=False)
    assessment = models.ForeignKey(SignedAssessment, on_delete=models.PROTECT, related_name="additions")
    reasons = models.JSONField(help_text="The reasons that it clears, as the staleness named them")
    what_changed = models.TextField()
    what_we_do = models.TextField()
    signed_by = _signer()
    name = models.CharField(max_length=120)
    signed_at = models.DateTimeField()

    class Meta:
        ordering = ["signed_at", "pk"]

    def __str__(self) -> str:
        return f"Addition to {self.assessment}"


class WalkForecast(models.Model):
    """A forecast for the place and hours of a walk, as a person read it. Append-only by trigger; the newest counts."""

    class Ice(models.TextChoices):
        NONE = "none", "None reported"
        PATCHES = "patches", "In patches"
        EVERYWHERE = "everywhere", "Everywhere"

    public_id = models.CharField(max_length=20, unique=True, default=new_public_id, editable=False)
    walk = models.ForeignKey(Walk, on_delete=models.PROTECT, related_name="forecasts")
    celsius = models.DecimalField(max_digits=4, decimal_places=1)
    humidity = models.PositiveSmallIntegerField(null=True, blank=True)
    wind_kmh = models.DecimalField(max_digits=5, decimal_places=1)
    gust_kmh = models.DecimalField(max_digits=5, decimal_places=1, null=True, blank=True)
    lightning = models.BooleanField()
    ice = models.CharField(max_length=12, choices=Ice)
    source = models.CharField(max_length=120)
    issued_at = models.DateTimeField()
    entered_by = _signer()
    entered_at = models.DateTimeField()

    class Meta:
        ordering = ["entered_at", "pk"]
        constraints = [
            # A humidity beyond this is a slip of the hand, and would move the heat index.
            models.CheckConstraint(
                condition=models.Q(humidity=None) | models.Q(humidity__lte=100), name="humidity_is_a_percentage"
            ),
        ]

    def __str__(self) -> str:
        return f"Forecast for {self.walk}, issued {self.issued_at}"


class WeatherDecision(models.Model):
    """What a guide decided on a forecast, and what the rules said at that moment. Append-only by trigger."""

    class Decision(models.TextChoices):
        GO = "go", "Go"
        CONTROLS = "controls", "Go with controls"
        CALL_OFF = "call_off", "Call off"

    public_id = models.CharField(max_length=20, unique=True, default=new_public_id, editable=False)
    walk = models.ForeignKey(Walk, on_delete=models.PROTECT, related_name="weather_decisions")
    forecast = models.ForeignKey(WalkForecast, null=True, on_delete=models.PROTECT, related_name="decisions")
    rules_say = models.CharField(max_length=12)
    decision = models.CharField(max_length=12, choices=Decision)
    what_we_do = models.TextField(blank=True)
    decided_by = _signer()
    name = models.CharField(max_length=120)
    decided_at = models.DateTimeField()

    class Meta:
        ordering = ["decided_at", "pk"]

    def __str__(self) -> str:
        return f"{self.walk}: {self.get_decision_display()}"


class WalkStart(models.Model):
    """That a walk was started: under which assessment and which decision on the weather. Append-only by trigger."""

    public_id = models.CharField(max_length=20, unique=True, default=new_public_id, editable=False)
    walk = models.OneToOneField(Walk, on_delete=models.PROTECT, related_name="start")
    assessment = models.ForeignKey(SignedAssessment, on_delete=models.PROTECT, related_name="+")
    decision = models.ForeignKey(WeatherDecision, on_delete=models.PROTECT, related_name="+")
    started_by = _signer()
    name = models.CharField(max_length=120)
    started_at = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.walk} started"
