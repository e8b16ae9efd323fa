"""Take away a certificate that was recorded by mistake."""

from __future__ import annotations

from datetime import datetime

from foraywright.floor.acts import By, act, record
from foraywright.floor.numbering import bump_feed
from walks.models import Guide, GuideCertificate
from walks.services.publish_walk import FEED


@act
def remove_certificate(certificate: GuideCertificate, *, by: By, now: datetime) -> None:
    """Delete `certificate`. The guide's row is locked, as publishing locks it."""
    guide = Guide.objects.select_for_update().get(pk=certificate.guide_id)
    certificate.delete()
    bump_feed(FEED, now=now)
    record("remove certificate", guide, by=by, now=now, fields=("certificates",))
