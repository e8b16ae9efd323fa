"""What went wrong or nearly did on a walk, who was there, and what follows from it."""

from __future__ import annotations

from django.conf import settings
from django.db import models

from bookings.models.people import Person
from foraywright.floor.ids import new_public_id
from foraywright.floor.sealed import SealedField
from walks.models import Walk


class Incident(models.Model):
    """One incident, near miss or case of ill health. Its account is sealed, because it may speak of health.

    An account of None was erased when its time was over.
    """

    class Kind(models.TextChoices):
        INCIDENT = "incident", "Somebody was hurt, or something was damaged"
        NEAR_MISS = "near_miss", "A near miss: it could have gone wrong"
        ILL_HEALTH = "ill_health", "Somebody fell ill, on the walk or after it"

    public_id = models.CharField(max_length=20, unique=True, default=new_public_id, editable=False)
    event = models.UUIDField(unique=True, help_text="Of the form: the same report sent twice is one")
    walk = models.ForeignKey(Walk, on_delete=models.PROTECT, related_name="incidents")
    kind = models.CharField(max_length=12, choices=Kind)
    at = models.DateTimeField()
    place = models.CharField(max_length=200, help_text="Where on the ground, in words")
    happened = SealedField(null=True)
    done = SealedField(null=True)
    reported_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    reported_at = models.DateTimeField()

    class Meta:
        ordering = ["-at", "-pk"]
        constraints = [
            # What has not happened yet is a hazard, and belongs into the risk assessment.
            models.CheckConstraint(
                condition=models.Q(at__lte=models.F("reported_at")), name="incident_before_its_report"
            ),
        ]

    def __str__(self) -> str:
        return self.public_id


class IncidentPerson(models.Model):
    """Somebody who had a part in an incident. A name of None was erased."""

    class Role(models.TextChoices):
        PARTICIPANT = "participant", "Participant"
        STAFF = "staff", "Guide or helper"
        OTHER = "other", "Somebody else"

    public_id = models.CharField(max_length=20, unique=True, default=new_public_id, editable=False)
    incident = models.ForeignKey(Incident, on_delete=models.CASCADE, related_name="people")
    role = models.CharField(max_length=12, choices=Role)
    person = models.ForeignKey(Person, null=True, on_delete=models.SET_NULL, related_name="incidents")
    name = SealedField(null=True)

    def __str__(self) -> str:
        return self.public_id


class FollowUp(models.Model):
    """What is to be done so that it does not happen again. It stands in the assessments of the site while it is open,
    and as long as it lasts where every walk there is to do it."""

    public_id = models.CharField(max_length=20, unique=True, default=new_public_id, editable=False)
    incident = models.ForeignKey(Incident, on_delete=models.CASCADE, related_name="follow_ups")
    what = models.CharField(max_length=140, help_text="Printed in risk assessments: no names, no health")
    owner = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    due = models.DateField()
    done_at = models.DateTimeField(null=True)
    done_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+")
    lasts = models.BooleanField(default=False, help_text="Every walk at the site does it from then on")

    class Meta:
        ordering = ["due", "pk"]
        constraints = [
            # Whoever says that it is done answers for it.
            models.CheckConstraint(
                condition=models.Q(done_at=None, done_by=None) | models.Q(done_at__isnull=False, done_by__isnull=False),
                name="done_has_its_person_and_instant",
            ),
            # What nobody has begun to do protects nobody.
            models.CheckConstraint(
                condition=models.Q(lasts=False) | models.Q(done_at__isnull=False), name="lasts_once_it_is_done"
            ),
        ]
        indexes = [
            # The front page and every assessment: what is open.
            models.Index(fields=["done_at", "due"], name="follow_ups_open"),
        ]

    def __str__(self) -> str:
        return self.what
