"""The controlled vocabulary as rows: state ids are immutable, deprecated but never deleted."""

from django.db import models


class VocabularyWord(models.Model):
    """One character, state or term that an account has been able to use. Loaded from curriculum/vocabulary/."""

    path = models.CharField(max_length=160, unique=True, help_text="e.g. character.cap_shape.shell")
    label = models.CharField(max_length=200)
    since_version = models.PositiveIntegerField()
    deprecated = models.BooleanField(default=False)

    def __str__(self) -> str:
        return self.path
