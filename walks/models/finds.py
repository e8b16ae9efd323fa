"""What was found on a walk: the list with its effort, and the finds on it."""

from __future__ import annotations

from django.conf import settings
from django.db import models

from curriculum.models import Taxon
from walks.models.offerings import Walk


class FindList(models.Model):
    """The list of one walk. Complete = everything taught that was seen is on it; only then is silence news."""

    walk = models.OneToOneField(Walk, on_delete=models.CASCADE, related_name="find_list")
    complete = models.BooleanField(default=False)
    minutes = models.PositiveSmallIntegerField(null=True, blank=True, help_text="Minutes of looking")
    people = models.PositiveSmallIntegerField(null=True, blank=True, help_text="How many looked")

    class Meta:
        constraints = [
            # What was not seen says nothing where nobody knows how long and by how many it was looked for.
            models.CheckConstraint(
                condition=models.Q(complete=False) | models.Q(minutes__gte=1, people__gte=1),
                name="a_complete_list_has_its_effort",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.walk}: {'complete' if self.complete else 'casual'}"


class Find(models.Model):
    """One find. Without a taxon it was not identified, and `words` says what was seen.

    The place is kept as blurred as its uncertainty says: a finer point is nowhere.
    """

    class Stage(models.TextChoices):
        YOUNG = "young", "Young"
        MATURE = "mature", "At its best"
        OLD = "old", "Past"

    event = models.UUIDField(unique=True, help_text="Made with the form: the same form sent twice is one find")
    list = models.ForeignKey(FindList, on_delete=models.CASCADE, related_name="finds")
    taxon = models.ForeignKey(Taxon, null=True, blank=True, on_delete=models.PROTECT, related_name="finds")
    words = models.CharField(max_length=200, blank=True, help_text="What was seen, where it was not identified")
    count = models.PositiveIntegerField(null=True, blank=True, help_text="Individuals or clusters; empty: not counted")
    stage = models.CharField(max_length=8, choices=Stage, blank=True)
    host = models.CharField(max_length=40, blank=True, help_text="Key of the tree or other host, of the vocabulary")
    latitude = models.DecimalField(max_digits=9, decimal_places=6, help_text="WGS84, blurred")
    longitude = models.DecimalField(max_digits=9, decimal_places=6, help_text="WGS84, blurred")
    uncertainty_m = models.PositiveIntegerField(help_text="Metres within which the find was made")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    added_at = models.DateTimeField()

    class Meta:
        ordering = ["pk"]
        constraints = [
            # A find of nothing could not be told from a slip.
            models.CheckConstraint(
                condition=models.Q(taxon__isnull=False) | ~models.Q(words=""), name="a_find_says_what_was_found"
            ),
            # None of a species is said by a complete list, never by a find.
            models.CheckConstraint(
                condition=models.Q(count__isnull=True) | models.Q(count__gte=1), name="a_find_is_of_one_or_more"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.taxon or self.words} on {self.list.walk}"
