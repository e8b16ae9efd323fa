"""What needs a person today: the sentences on the staff's front page."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.urls import reverse
from django.utils import timezone

from bookings.coming import comings
from bookings.models import OutboxMessage
from curriculum.models import Document
from curriculum.queries import accounts_in_use
from walks.assessment_state import state_of
from walks.assessments import house
from walks.guides import walks_without_cover
from walks.models import (
    GuideCertificate,
    InsuranceCover,
    LandownersPermission,
    Offering,
    SignedAssessment,
    Walk,
    WalkGuide,
)
from walks.permissions import walks_outside, walks_uninsured
from walks.queries import with_everything

SOON = timedelta(days=60)
TO_SIGN = timedelta(days=14)


@dataclass(frozen=True, slots=True)
class Need:
    """One thing to do: what, in words, and where."""

    words: str
    address: str


def what_needs_somebody(*, now: datetime) -> list[Need]:
    """Everything that waits for a person, most pressing first. Some thirty queries, ten more for each walk of the
    next fourteen days that has a signed assessment."""
    today = timezone.localdate(now)
    return [
        *_failed(),
        *_without_cover(now),
        *_outside_papers(now),
        *_assessments(now),
        *_below_fewest(now),
        *_drafts(now),
        *_running_out(today),
        *_unsigned(),
    ]


def _failed() -> Iterator[Need]:
    letters = OutboxMessage.objects.exclude(given_up_at=None).select_related("booking")
    for one in letters:
        address = reverse("staff_booking", args=[one.booking.code])
        yield Need(f"A letter ({one.get_kind_display().lower()}) could not be sent. Telephone instead.", address)
    for document in Document.objects.exclude(given_up_at=None):
        yield Need(f"A PDF could not be made: {document.last_error}", reverse("staff_today"))


def _without_cover(now: datetime) -> Iterator[Need]:
    for walk, reasons in walks_without_cover(now=now):
        words = f"“{walk.offering.title}” on {_day(walk.local_date)} has lost its cover: {' '.join(reasons)}"
        yield Need(words, reverse("staff_walk", args=[walk.offering.public_id]))


def _outside_papers(now: datetime) -> Iterator[Need]:
    for walk, reasons in walks_outside(now=now):
        words = f"“{walk.offering.title}” is published outside the permission: {' '.join(reasons)}"
        yield Need(words, reverse("staff_site", args=[walk.site.public_id]))
    for walk in walks_uninsured(now=now):
        words = f"“{walk.offering.title}” on {_day(walk.local_date)} has no insurance cover."
        yield Need(words, reverse("staff_covers"))


def _assessments(now: datetime) -> Iterator[Need]:
    """Walks of the next fourteen days that may not start on their assessment: none signed, or a stale one."""
    soon = Walk.objects.filter(starts_at__gt=now, starts_at__lte=now + TO_SIGN, called_off_at=None)
    walks = list(with_everything(soon.filter(offering__state=Offering.State.PUBLISHED)))
    signed = set(SignedAssessment.objects.filter(walk__in=walks).values_list("walk", flat=True))
    accounts, coming, of = accounts_in_use(), comings(walks, now=now), house()
    for walk in walks:
        address = reverse("staff_walk", args=[walk.offering.public_id])
        named = f"“{walk.offering.title}” on {_day(walk.local_date)}"
        if walk.pk not in signed:
            yield Need(f"The risk assessment of {named} is not signed.", address)
        elif not state_of(walk, accounts, coming[walk.pk], of=of).holds:
            yield Need(f"The risk assessment of {named} is stale.", address)


def _below_fewest(now: datetime) -> Iterator[Need]:
    soon = Walk.objects.filter(starts_at__gt=now, starts_at__lt=now + timedelta(days=7), called_off_at=None)
    for walk in soon.filter(offering__state=Offering.State.PUBLISHED).select_related("offering"):
        if walk.places_taken_shown < walk.offering.fewest:
            words = (
                f"“{walk.offering.title}” on {_day(walk.local_date)} has {walk.places_taken_shown} people; "
                f"it needs {walk.offering.fewest}. Run it all the same, or call it off."
            )
            yield Need(words, reverse("staff_walk", args=[walk.offering.public_id]))


def _drafts(now: datetime) -> Iterator[Need]:
    for offering in Offering.objects.filter(state=Offering.State.DRAFT, walks__starts_at__gt=now).distinct():
        yield Need(f"“{offering.title}” is still a draft.", reverse("staff_walk", args=[offering.public_id]))


def _running_out(today: date) -> Iterator[Need]:
    until = today + SOON
    for one in LandownersPermission.objects.filter(valid_to__gte=today, valid_to__lte=until).select_related("site"):
        yield Need(
            f"The landowner's permission for {one.site} ends on {_day(one.valid_to)}. Ask for it anew.",
            reverse("staff_site", args=[one.site.public_id]),
        )
    last = InsuranceCover.objects.order_by("-valid_to").first()
    if last is not None and last.valid_to <= until:
        yield Need(f"The last insurance cover ends on {_day(last.valid_to)}. Renew it.", reverse("staff_covers"))
    out = WalkGuide.objects.filter(live=True).values("guide")
    papers = GuideCertificate.objects.filter(valid_to__gte=today, valid_to__lte=until, guide__in=out)
    for paper in papers.select_related("guide"):
        address = reverse("staff_guide", args=[paper.guide.public_id])
        yield Need(f"{paper.guide}: {paper.title} ends on {_day(paper.valid_to)}.", address)


def _unsigned() -> Iterator[Need]:
    unsigned = [one.account.vernacular() for one in accounts_in_use().values() if one.sign_off is None]
    if unsigned:
        accounts = "1 account is" if len(unsigned) == 1 else f"{len(unsigned)} accounts are"
        yield Need(f"{accounts} not signed: {', '.join(unsigned[:6])}.", reverse("staff_curriculum"))


def _day(day: date) -> str:
    return f"{day.day} {day:%B %Y}"
