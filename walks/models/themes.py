"""Themes: what a walk is about, and which taxa it hopes to teach."""

from __future__ import annotations

from django.db import models

from curriculum.models import Taxon
from foraywright.floor.ids import new_public_id


class Theme(models.Model):
    """A subject that can be offered again and again."""

    public_id = models.CharField(max_length=20, unique=True, default=new_public_id, editable=False)
    name = models.CharField(max_length=80, unique=True)
    lead = models.CharField(max_length=300, help_text="One or two sentences for the programme")
    audience = models.CharField(max_length=120, blank=True, help_text="e.g. beginners, families")
    activities = models.JSONField(default=list, blank=True, help_text="Activity words of the hazard library")
    taxa = models.ManyToManyField(Taxon, through="ThemeTaxon", related_name="themes")

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name


class ThemeTaxon(models.Model):
    """A taxon that the theme wants to show."""

    theme = models.ForeignKey(Theme, on_delete=models.CASCADE, related_name="theme_taxa")
    taxon = models.ForeignKey(Taxon, on_delete=models.PROTECT, related_name="theme_taxa")
    place = models.PositiveSmallIntegerField(default=0)

    class Meta:
        ordering = ["place", "pk"]
        constraints = [models.UniqueConstraint(fields=["theme", "taxon"], name="taxon_once_a_theme")]

    def __str__(self) -> str:
        return f"{self.theme}: {self.taxon}"
