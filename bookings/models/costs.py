"""What walks cost the business."""

from __future__ import annotations

from django.db import models

from foraywright.floor.ids import new_public_id
from walks.models import Offering


class WalkCost(models.Model):
    """One cost of an offering: a guide's fee, travel, the landowner's share. It names nobody."""

    class Kind(models.TextChoices):
        GUIDES = "guides", "Guides"
        TRAVEL = "travel", "Travel"
        LANDOWNER = "landowner", "Landowner"
        MATERIAL = "material", "Material and food"
        OTHER = "other", "Other"

    public_id = models.CharField(max_length=20, unique=True, default=new_public_id, editable=False)
    offering = models.ForeignKey(Offering, on_delete=models.CASCADE, related_name="costs")
    kind = models.CharField(max_length=12, choices=Kind)
    amount_minor = models.PositiveIntegerField(help_text="Without the VAT that comes back, in minor units")
    for_each = models.BooleanField(default=False, help_text="Falls for each person who comes")
    noted_at = models.DateTimeField()

    class Meta:
        constraints = [
            # A cost of nothing would only look like one.
            models.CheckConstraint(condition=models.Q(amount_minor__gt=0), name="cost_of_more_than_nothing"),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.amount_minor}"
