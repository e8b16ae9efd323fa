"""What is attached to a site and its permission: the landowner's letter, the recorded route."""

from __future__ import annotations

from django.db import models

from foraywright.floor.ids import new_public_id
from walks.models.sites import LandownersPermission, Site


class PermissionDocument(models.Model):
    """A scan or a letter behind a permission. The file lies under a name of ours; staff alone can download it."""

    class Kind(models.TextChoices):
        PDF = "pdf", "PDF"
        JPEG = "jpg", "JPEG picture"
        PNG = "png", "PNG picture"

    public_id = models.CharField(max_length=20, unique=True, default=new_public_id, editable=False)
    permission = models.ForeignKey(LandownersPermission, on_delete=models.CASCADE, related_name="documents")
    kind = models.CharField(max_length=4, choices=Kind)
    size = models.PositiveIntegerField(help_text="Bytes")
    attached_at = models.DateTimeField()

    class Meta:
        ordering = ["attached_at", "pk"]

    @property
    def stored_as(self) -> str:
        """Its path below MEDIA_ROOT: nothing of the name that it came with."""
        return f"permissions/{self.public_id}.{self.kind}"

    def __str__(self) -> str:
        return f"{self.get_kind_display()} of {self.attached_at:%d %B %Y}"


class SiteRoute(models.Model):
    """A route that is walked at a site. A row never changes: another recording is another row, and one is current.

    `points` holds [latitude, longitude, height in metres or null], WGS84, in the order walked; `gpx` the same as a
    file, cleaned: no times, no device, nobody's name.
    """

    public_id = models.CharField(max_length=20, unique=True, default=new_public_id, editable=False)
    site = models.ForeignKey(Site, on_delete=models.CASCADE, related_name="routes")
    name = models.CharField(max_length=80)
    points = models.JSONField()
    gpx = models.TextField()
    current = models.BooleanField(default=True)
    added_at = models.DateTimeField()

    class Meta:
        ordering = ["-added_at", "-pk"]
        constraints = [
            # Two current routes would give two distances, and the assessment could print the wrong one.
            models.UniqueConstraint(fields=["site"], condition=models.Q(current=True), name="one_current_route_a_site"),
        ]

    def __str__(self) -> str:
        return f"{self.name} at {self.site}"
