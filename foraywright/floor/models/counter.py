"""Gap-free numbers: a locked counter row, raised in the same transaction as the document that bears the number."""

from django.db import models


class Counter(models.Model):
    """The last number given out under `key`."""

    key = models.CharField(max_length=40, primary_key=True)
    last = models.PositiveBigIntegerField(default=0)

    def __str__(self) -> str:
        return f"{self.key}: {self.last}"


class FeedRevision(models.Model):
    """How often a fact that the feed `feed` shows has changed; with its name it is the feed's ETag."""

    feed = models.CharField(max_length=60, primary_key=True)
    revision = models.PositiveBigIntegerField(default=0)
    changed_at = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.feed}: {self.revision}"
