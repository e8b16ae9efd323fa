"""An outside reviewer, invited by link: a business of one has nobody in the house who may sign what its owner wrote."""

from __future__ import annotations

from django.conf import settings
from django.db import models

from curriculum.models.accounts import AccountVersion
from foraywright.floor.ids import new_public_id


class ReviewInvitation(models.Model):
    """Somebody asked to review one version, with the competence and the scope for which they were asked."""

    public_id = models.CharField(max_length=20, unique=True, default=new_public_id, editable=False)
    version = models.ForeignKey(AccountVersion, on_delete=models.PROTECT, related_name="invitations")
    name = models.CharField(max_length=120)
    competence = models.CharField(max_length=300)
    scope = models.CharField(max_length=300, help_text="What they were asked to look at, e.g. all facts")
    invited_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    invited_at = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.version}: {self.public_id}"
