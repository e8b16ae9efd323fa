"""Policies as versioned rows: what was sold or signed keeps the version that it was sold or signed under."""

from django.db import models


class PolicyVersion(models.Model):
    """One version of one policy (ratios, prices, tax, refunds, ground rules, hazards). Append-only by trigger."""

    class Kind(models.TextChoices):
        RATIOS = "ratios", "Adult-to-child ratios"
        PRICES = "prices", "Prices"
        REFUNDS = "refunds", "Refunds"
        GROUND_RULES = "ground_rules", "Ground rules"
        HAZARDS = "hazards", "Hazard library"
        VAT = "vat", "Value added tax"

    kind = models.CharField(max_length=20, choices=Kind)
    number = models.PositiveIntegerField()
    body = models.JSONField()
    source = models.TextField(help_text="Title of the published source, or: our own rule.")
    since = models.DateTimeField()

    class Meta:
        constraints = [
            # A version is cited by kind and number; two of the same would make the citation ambiguous.
            models.UniqueConstraint(fields=["kind", "number"], name="one_policy_a_kind_and_number"),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()}, version {self.number}"
