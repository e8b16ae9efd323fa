"""A taxon is not a name: the taxon has a stable id, its names are rows that come and go."""

from __future__ import annotations

from django.db import models

from foraywright.floor.compute.folding import folded
from foraywright.floor.ids import new_public_id


class Taxon(models.Model):
    """One thing that can be met in the field. `key` is its stable id for ever, whatever its accepted name becomes."""

    class Group(models.TextChoices):
        FUNGUS = "fungus", "Fungi"
        PLANT = "plant", "Plants"
        SEAWEED = "seaweed", "Seaweeds"

    public_id = models.CharField(max_length=20, unique=True, default=new_public_id, editable=False)
    key = models.SlugField(max_length=80, unique=True, help_text="Stable id, e.g. pleurotus-ostreatus")
    group = models.CharField(max_length=10, choices=Group)

    def __str__(self) -> str:
        return self.key


class TaxonName(models.Model):
    """One name of a taxon: accepted, synonym or vernacular. Replaced when a newer account version is put in use."""

    class Kind(models.TextChoices):
        ACCEPTED = "accepted", "Accepted name"
        SYNONYM = "synonym", "Synonym"
        VERNACULAR = "vernacular", "Common name"

    taxon = models.ForeignKey(Taxon, on_delete=models.CASCADE, related_name="names")
    name = models.CharField(max_length=120)
    folded = models.CharField(max_length=120, editable=False)
    kind = models.CharField(max_length=12, choices=Kind)
    language = models.CharField(max_length=8, help_text='"la" for scientific names, "en" for English')
    authority = models.CharField(max_length=120, blank=True)
    since = models.CharField(max_length=20, blank=True)
    place = models.PositiveSmallIntegerField(default=0, help_text="Order among the names of one kind")

    class Meta:
        constraints = [
            # The loader writes names anew; twice the same would show twice on every list.
            models.UniqueConstraint(fields=["taxon", "name", "kind", "language"], name="name_once_a_taxon"),
        ]
        indexes = [
            # The species search, which compares the folded form.
            models.Index(fields=["folded"], name="names_folded"),
        ]

    def save(self, *args: object, **kwargs: object) -> None:
        self.folded = folded(self.name)
        super().save(*args, **kwargs)  # type: ignore[arg-type]

    def __str__(self) -> str:
        return self.name
