"""Addresses in words. A slug once given is never given again; an old one redirects."""

from django.db import models


class Slug(models.Model):
    """One slug that an object has or had. The newest of an object is its address."""

    kind = models.CharField(max_length=20)
    text = models.SlugField(max_length=80)
    object_id = models.CharField(max_length=20)
    since = models.DateTimeField()

    class Meta:
        constraints = [
            # Never reused: an old printed address must not lead to another walk or species.
            models.UniqueConstraint(fields=["kind", "text"], name="slug_never_reused"),
        ]
        indexes = [
            # The newest slug of an object.
            models.Index(fields=["kind", "object_id", "-since"], name="slugs_of_an_object"),
        ]

    def __str__(self) -> str:
        return f"{self.kind}/{self.text}"
