"""Papers that run out within sixty days, while there is still time to renew them."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta

from django.db.models import Max
from django.urls import reverse
from django.utils import timezone

from bookings.needs.need import Need, day_of
from walks.models import GuideCertificate, InsuranceCover, LandownersPermission, WalkGuide

SOON = timedelta(days=60)


def permissions(now: datetime) -> Iterator[Need]:
    """Landowners' permissions that end, where none at the same site reaches further. Two queries."""
    today = timezone.localdate(now)
    last = dict(LandownersPermission.objects.values_list("site").annotate(Max("valid_to")).order_by())
    ending = LandownersPermission.objects.filter(valid_to__range=(today, today + SOON)).select_related("site")
    for one in ending.order_by("valid_to", "pk"):
        if last[one.site_id] == one.valid_to:
            words = f"The landowner's permission for {one.site} ends on {day_of(one.valid_to)}. Ask for it anew."
            yield Need(words, reverse("staff_site", args=[one.site.public_id]), one.valid_to)


def cover(now: datetime) -> Iterator[Need]:
    """The insurance cover that ends last. One query."""
    last = InsuranceCover.objects.order_by("-valid_to").first()
    if last is not None and last.valid_to <= timezone.localdate(now) + SOON:
        words = f"The last insurance cover ends on {day_of(last.valid_to)}. Renew it."
        yield Need(words, reverse("staff_covers"), last.valid_to)


def certificates(now: datetime) -> Iterator[Need]:
    """Certificates of guides who are down for walks, where no later one of the kind is there. Two queries."""
    today = timezone.localdate(now)
    out = WalkGuide.objects.filter(live=True, ends_at__gt=now).values("guide")
    papers = GuideCertificate.objects.filter(guide__in=out)
    kinds = papers.values_list("guide", "kind").annotate(last=Max("valid_to")).order_by()
    last = {(guide, kind): day for guide, kind, day in kinds}
    ending = papers.filter(valid_to__range=(today, today + SOON)).select_related("guide")
    for paper in ending.order_by("valid_to", "pk"):
        if last[paper.guide_id, paper.kind] == paper.valid_to:
            words = f"{paper.guide}: {paper.title} ends on {day_of(paper.valid_to)}."
            address = reverse("staff_guide", args=[paper.guide.public_id])
            yield Need(words, address, paper.valid_to, frozenset({paper.guide.public_id}))
