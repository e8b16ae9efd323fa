"""Programmes that are offered again and again: everything of an offering but its dates and its guides."""

from __future__ import annotations

from django.db import models

from foraywright.floor.ids import new_public_id
from foraywright.floor.models import PolicyVersion
from walks.models.sites import Site
from walks.models.themes import Theme


class OfferingTemplate(models.Model):
    """An offering without dates. It is scheduled as a draft like any other, and nothing follows it afterwards."""

    public_id = models.CharField(max_length=20, unique=True, default=new_public_id, editable=False)
    name = models.CharField(max_length=80, unique=True)
    title = models.CharField(max_length=80)
    lead = models.CharField(max_length=300, blank=True)
    theme = models.ForeignKey(Theme, on_delete=models.PROTECT, related_name="+")
    fewest = models.PositiveIntegerField()
    certificate_percent = models.PositiveSmallIntegerField()
    prices = models.ForeignKey(PolicyVersion, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name


class TemplateSession(models.Model):
    """One session of a template, so many days after the first."""

    template = models.ForeignKey(OfferingTemplate, on_delete=models.CASCADE, related_name="sessions")
    number = models.PositiveSmallIntegerField()
    days_after = models.PositiveIntegerField(help_text="Days after the first session, 0 for the first")
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="+")
    local_time = models.TimeField()
    minutes = models.PositiveIntegerField()
    is_night_walk = models.BooleanField(default=False)
    heading = models.CharField(max_length=80, blank=True)
    theme = models.ForeignKey(Theme, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    covers = models.JSONField(default=list, blank=True)
    points = models.TextField(blank=True)

    class Meta:
        ordering = ["number"]
        constraints = [models.UniqueConstraint(fields=["template", "number"], name="session_number_once_a_template")]

    def __str__(self) -> str:
        return f"{self.template}, session {self.number}"
