"""Links that are a permission: the secret is stored hashed, with purpose, scope, expiry and revocation."""

from django.db import models


class LinkSecret(models.Model):
    """A capability: whoever holds the secret may do `purpose` on the object with the public id `scope`."""

    class Purpose(models.TextChoices):
        BOOKING = "booking", "A booking's own page"
        DECLARATION = "declaration", "One person's declaration"
        REVIEW = "review", "The review of an account"
        VOUCHER = "voucher", "The order of a voucher"
        QUOTE = "quote", "A quote for a group"
        FEED = "feed", "A guide's own calendar"
        STAFF = "staff", "A staff account to be taken up"

    purpose = models.CharField(max_length=20, choices=Purpose)
    scope = models.CharField(max_length=20)
    digest = models.CharField(max_length=64, unique=True)
    created_at = models.DateTimeField()
    expires_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        indexes = [
            # Revoking every link of one object.
            models.Index(fields=["purpose", "scope"], name="links_of_an_object"),
        ]

    def __str__(self) -> str:
        return f"{self.get_purpose_display()} {self.scope}"
