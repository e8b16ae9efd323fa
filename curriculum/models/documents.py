"""Documents that leave the house: each with the manifest of what is in it, so that it can be recalled."""

from __future__ import annotations

from django.db import models

from curriculum.models.accounts import AccountVersion
from foraywright.floor.ids import new_public_id
from foraywright.floor.leases import LeasedRow


class Document(LeasedRow):
    """A PDF to be built or built. Its key is the hash of its manifest: the same content is never built twice."""

    class Kind(models.TextChoices):
        SHEET = "sheet", "Species sheet"
        BOOKLET = "booklet", "Handout booklet"
        RISK_ASSESSMENT = "risk_assessment", "Risk assessment"

    public_id = models.CharField(max_length=20, unique=True, default=new_public_id, editable=False)
    kind = models.CharField(max_length=20, choices=Kind)
    subject_id = models.CharField(max_length=20, help_text="Public id of the walk or taxon it is about")
    manifest = models.JSONField(help_text="Everything that the content depends on")
    manifest_hash = models.CharField(max_length=64, unique=True)
    language = models.CharField(max_length=8, default="en-GB")
    variant = models.CharField(max_length=20, default="standard")
    html = models.TextField(blank=True, help_text="What is to be set; emptied once the file exists")
    wanted_at = models.DateTimeField()
    file = models.FileField(upload_to="documents/", blank=True, max_length=200)
    sha256 = models.CharField(max_length=64, blank=True)
    pages = models.PositiveIntegerField(default=0)
    size = models.PositiveIntegerField(default=0)
    versions = models.ManyToManyField(AccountVersion, through="DocumentContent", related_name="documents")

    class Meta:
        indexes = [
            # The newest document of a kind about one walk or taxon.
            models.Index(fields=["kind", "subject_id", "-wanted_at"], name="documents_of_a_subject"),
            # The worker's next row.
            models.Index(fields=["done_at", "due_at"], name="documents_due"),
        ]

    @property
    def is_ready(self) -> bool:
        return self.done_at is not None and bool(self.file)

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.manifest_hash[:12]}"


class DocumentContent(models.Model):
    """An account version that a document contains, its own sheet or one side of a pair: what a recall follows."""

    document = models.ForeignKey(Document, on_delete=models.CASCADE, related_name="contents")
    version = models.ForeignKey(AccountVersion, on_delete=models.PROTECT, related_name="contained_in")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["document", "version"], name="version_once_a_document")]

    def __str__(self) -> str:
        return f"{self.document} contains {self.version}"
