"""Guides: who leads, with which certificates."""

from __future__ import annotations

from django.conf import settings
from django.db import models

from foraywright.floor.ids import new_public_id


class MayLead(models.TextChoices):
    """What a guide may lead: a group of taxa (the words of Taxon.Group), the dark, children."""

    FUNGUS = "fungus", "Fungi"
    PLANT = "plant", "Plants"
    SEAWEED = "seaweed", "Seaweeds"
    NIGHT = "night", "Walks in the dark"
    CHILDREN = "children", "Walks with children"


class Guide(models.Model):
    """Somebody who leads walks or helps on them. May have a staff account."""

    public_id = models.CharField(max_length=20, unique=True, default=new_public_id, editable=False)
    user = models.OneToOneField(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="guide"
    )
    name = models.CharField(max_length=80)
    phone = models.CharField(max_length=30, blank=True)
    adult = models.BooleanField(default=True, help_text="18 or over; a young helper never counts in a ratio")
    largest_group = models.PositiveIntegerField(null=True, blank=True, help_text="Most participants, e.g. 12")
    days_a_week = models.PositiveIntegerField(default=5)
    about = models.CharField(max_length=300, blank=True, help_text="One sentence for the programme")
    active = models.BooleanField(default=True)
    may_lead = models.JSONField(default=list, blank=True, help_text="Words of MayLead; who may lead nothing helps")

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name


class GuideCertificate(models.Model):
    """A certificate of a guide with its dates."""

    class Kind(models.TextChoices):
        FIRST_AID = "first_aid", "First aid"
        BACKGROUND_CHECK = "background_check", "Background check"
        INSURANCE = "insurance", "Own insurance"

    guide = models.ForeignKey(Guide, on_delete=models.CASCADE, related_name="certificates")
    kind = models.CharField(max_length=20, choices=Kind)
    title = models.CharField(max_length=120)
    valid_from = models.DateField()
    valid_to = models.DateField()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(valid_to__gte=models.F("valid_from")), name="certificate_ends_after_it_starts"
            ),
        ]

    def covers(self, day: object) -> bool:
        """Whether the certificate is in date on `day`."""
        return self.valid_from <= day <= self.valid_to  # type: ignore[operator]

    def __str__(self) -> str:
        return f"{self.guide}: {self.get_kind_display()} to {self.valid_to}"


class GuideAbsence(models.Model):
    """Days on which a guide cannot go out. No reason is kept: it may be about health."""

    guide = models.ForeignKey(Guide, on_delete=models.CASCADE, related_name="absences")
    first_day = models.DateField()
    last_day = models.DateField()

    class Meta:
        ordering = ["first_day", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(last_day__gte=models.F("first_day")), name="absence_ends_after_it_starts"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.guide}: {self.first_day} to {self.last_day}"
