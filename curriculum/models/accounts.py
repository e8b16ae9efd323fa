"""Taxon → AccountVersion (canonical JSON, SHA-256) → SignOff, Withdrawal; sources and citations are rows."""

from __future__ import annotations

from django.conf import settings
from django.db import models

from curriculum.models.taxa import Taxon
from foraywright.floor.ids import new_public_id
from foraywright.floor.leases import LeasedRow


class Source(models.Model):
    """A published text that accounts cite. What it is called and where it lies has no length that we could set."""

    key = models.CharField(max_length=160, unique=True, help_text="Key of the account file and of the source in it")
    title = models.TextField()
    kind = models.CharField(max_length=40)
    publisher = models.TextField(blank=True)
    address = models.TextField(blank=True)
    seen = models.BooleanField(help_text="Whether its text, or an excerpt, was read by the author of the account.")
    read_on = models.DateField(null=True, blank=True)

    def __str__(self) -> str:
        return self.title


class AccountVersion(models.Model):
    """One version of an account. Its content never changes; a change is a new version. Append-only by trigger."""

    public_id = models.CharField(max_length=20, unique=True, default=new_public_id, editable=False)
    taxon = models.ForeignKey(Taxon, on_delete=models.PROTECT, related_name="versions")
    number = models.PositiveIntegerField()
    body = models.TextField(help_text="The account as canonical JSON")
    sha256 = models.CharField(max_length=64)
    vocabulary_version = models.PositiveIntegerField()
    edibility = models.CharField(max_length=20)
    tier = models.CharField(max_length=20, blank=True)
    role = models.CharField(max_length=12)
    origin = models.CharField(max_length=40, help_text='"starter" for a file of the program, "person" for an edit')
    author = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    created_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["taxon", "number"], name="account_number_once_a_taxon"),
            # Loading the same facts twice writes nothing.
            models.UniqueConstraint(fields=["taxon", "sha256"], name="account_content_once_a_taxon"),
        ]

    def __str__(self) -> str:
        return f"{self.taxon}, version {self.number}"


class FactGroup(models.Model):
    """One group of facts in a version: what is cited for it and what in it is from memory. Append-only by trigger."""

    version = models.ForeignKey(AccountVersion, on_delete=models.CASCADE, related_name="fact_groups")
    group = models.CharField(max_length=20)
    from_memory = models.JSONField(default=list, blank=True, help_text="Facts for which no source was seen")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["version", "group"], name="fact_group_once_a_version")]

    def __str__(self) -> str:
        return f"{self.version}: {self.group}"


class Citation(models.Model):
    """A source that carries a fact group, with the place in it. Append-only by trigger."""

    fact_group = models.ForeignKey(FactGroup, on_delete=models.CASCADE, related_name="citations")
    source = models.ForeignKey(Source, on_delete=models.PROTECT, related_name="citations")
    locator = models.TextField(blank=True)
    supports = models.TextField(blank=True)

    def __str__(self) -> str:
        return f"{self.fact_group} ← {self.source}"


class SignOff(models.Model):
    """A person's signature under one version. Append-only by trigger."""

    class Kind(models.TextChoices):
        REVIEWED = "reviewed", "Reviewed and signed"
        DEMONSTRATION = "demonstration", "Demonstration signature, checked by nobody"

    version = models.OneToOneField(AccountVersion, on_delete=models.PROTECT, related_name="sign_off")
    reviewer = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="+",
        help_text="Empty for an outside reviewer, who came by an invitation",
    )
    reviewer_name = models.CharField(max_length=120)
    competence = models.CharField(max_length=300)
    scope = models.CharField(max_length=300, blank=True, help_text="What the reviewer was asked to look at")
    kind = models.CharField(max_length=16, choices=Kind)
    signed_at = models.DateTimeField()
    review_by = models.DateField()
    pairs = models.JSONField(default=dict, help_text="Dangerous taxon → content compared with, verdict")
    thin_reason = models.TextField(blank=True, help_text="Why pairs that hang on one character are taught all the same")
    change_reason = models.TextField(blank=True, help_text="What claims beyond the last signed version rest on")
    rules_version = models.PositiveIntegerField()

    def __str__(self) -> str:
        return f"{self.version}: {self.get_kind_display()}"


class Withdrawal(LeasedRow):
    """The end of a version's use. A worker of bookings claims the row and tells everybody who holds a copy."""

    version = models.OneToOneField(AccountVersion, on_delete=models.PROTECT, related_name="withdrawal")
    withdrawn_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    withdrawn_at = models.DateTimeField()
    reason = models.TextField()

    def __str__(self) -> str:
        return f"{self.version} withdrawn"
