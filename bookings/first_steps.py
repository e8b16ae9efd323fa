"""From an empty database to the first walk that can be published: what is done and what is missing."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime

from django.urls import reverse
from django.utils import timezone

from curriculum.models import AccountVersion, SignOff, Withdrawal
from foraywright.floor.models import Business, PolicyVersion, User
from foraywright.floor.roles import REVIEWER
from walks.models import (
    Guide,
    GuideCertificate,
    InsuranceCover,
    LandownersPermission,
    Offering,
    Site,
    Theme,
    ThemeTaxon,
)

KINDS = PolicyVersion.Kind
NEEDED = (KINDS.PRICES, KINDS.REFUNDS, KINDS.RATIOS, KINDS.GROUND_RULES)


@dataclass(frozen=True, slots=True)
class Step:
    """One thing that a walk needs: what, why, where, and whether it is there."""

    words: str
    why: str
    address: str
    done: bool


def first_steps(*, now: datetime) -> list[Step]:
    """All steps in the order in which they are best taken. Some sixteen queries."""
    today = timezone.localdate(now)
    return [*_house(), *_ground(today), *_teaching(), _published()]


def _house() -> Iterator[Step]:
    yield Step(
        "Record the business",
        "Its name, telephone and jurisdiction stand on every page, letter and sheet.",
        reverse("staff_business"),
        Business.objects.exists(),
    )
    there = set(PolicyVersion.objects.filter(kind__in=NEEDED).values_list("kind", flat=True))
    missing = [kind.label.lower() for kind in NEEDED if kind not in there]
    yield Step(
        "Set prices, refunds, ratios and ground rules",
        f"Missing: {', '.join(missing)}." if missing else "What is sold keeps the version it was sold under.",
        reverse("staff_policies"),
        not missing,
    )
    yield Step(
        "Open an account for a reviewer",
        "Nobody signs what they wrote themselves. An outside reviewer can also be invited by link.",
        reverse("staff_people"),
        User.objects.filter(groups__name=REVIEWER, is_active=True).exists(),
    )


def _ground(today: date) -> Iterator[Step]:
    site = Site.objects.first()
    yield Step(
        "Add a site", "Where the walk is held: its ground, dangers and way in.", reverse("staff_site_new"), bool(site)
    )
    yield Step(
        "Record the landowner's permission",
        "Outside it nothing is published.",
        reverse("staff_site", args=[site.public_id]) if site else reverse("staff_sites"),
        LandownersPermission.objects.filter(valid_to__gte=today).exists(),
    )
    yield Step(
        "Record the insurance cover",
        "No walk is published on a day without it.",
        reverse("staff_covers"),
        InsuranceCover.objects.filter(valid_to__gte=today).exists(),
    )
    guide = Guide.objects.filter(active=True).first()
    first_aid = GuideCertificate.objects.filter(kind=GuideCertificate.Kind.FIRST_AID, valid_to__gte=today)
    yield Step(
        "Add a guide with a first-aid certificate",
        "Somebody on every walk must hold one, and the guide must be recorded for what is taught.",
        reverse("staff_guide", args=[guide.public_id]) if guide else reverse("staff_guides"),
        first_aid.filter(guide__active=True, guide__adult=True).exists(),
    )


def _teaching() -> Iterator[Step]:
    yield Step(
        "Load the species accounts and have the first ones signed",
        "What goes home with beginners must be signed, with its dangerous lookalikes."
        if AccountVersion.objects.exists()
        else "There are none yet: run “manage.py load_curriculum”.",
        reverse("staff_curriculum"),
        SignOff.objects.exclude(version__in=Withdrawal.objects.values("version")).exists(),
    )
    yield Step(
        "Make a theme that teaches some of them",
        "A walk is a site, a day, guides and a theme.",
        reverse("staff_themes") if Theme.objects.exists() else reverse("staff_theme_new"),
        ThemeTaxon.objects.exists(),
    )


def _published() -> Step:
    draft = Offering.objects.filter(state=Offering.State.DRAFT).first()
    return Step(
        "Schedule a walk and publish it",
        "What stands against publishing is said on the walk's page, all of it at once.",
        reverse("staff_walk", args=[draft.public_id]) if draft else reverse("staff_schedule"),
        Offering.objects.exclude(published_at=None).exists(),
    )
