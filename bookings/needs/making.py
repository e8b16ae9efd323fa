"""What is taught and planned: accounts to sign or to review, plans to decide on, documents that failed."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import datetime
from zoneinfo import available_timezones

from django.db.models import Count, Min
from django.urls import reverse
from django.utils import timezone

from bookings.models import WorkerFault
from bookings.needs.need import Need, counted, day_of
from curriculum.models import Document
from curriculum.pairs import review_due
from curriculum.queries import AccountInUse
from foraywright.floor.models import Business
from walks.models import Offering, PlanProposal, SeasonPlan

NAMED = 6
OPEN = (PlanProposal.State.PROPOSED, PlanProposal.State.PINNED)


def first_walk(now: datetime) -> Iterator[Need]:
    """The first steps of a house that has published nothing yet. One query."""
    if not Offering.objects.exclude(published_at=None).exists():
        yield Need("Nothing is published yet. See what a first walk still needs.", reverse("staff_first_steps"))


def unknown_zone(now: datetime) -> Iterator[Need]:
    """The business's own time zone, where the time-zone database does not know it. One query."""
    for zone in Business.objects.exclude(zone__in=available_timezones()).values_list("zone", flat=True):
        words = (
            f"The business keeps time by a zone that the time-zone database does not know: “{zone}”. Until you choose "
            "another, its days are counted by UTC: those of invoices, tax, vouchers and discount codes."
        )
        yield Need(words, reverse("staff_business"))


def documents(now: datetime) -> Iterator[Need]:
    """PDFs that were given up. One query."""
    for document in Document.objects.exclude(given_up_at=None).defer("html", "manifest"):
        kind = document.get_kind_display().lower()
        words = f"A PDF ({kind}) could not be made: {document.last_error} Have it tried again."
        yield Need(words, reverse("staff_document_again", args=[document.public_id]))


def worker_faults(now: datetime) -> Iterator[Need]:
    """Kinds of work that the worker fails at. One query."""
    for one in WorkerFault.objects.order_by("since"):
        words = (
            f"The worker has failed at one kind of its work since {day_of(one.since)}: “{one.kind.replace('_', ' ')}” "
            f"({one.fault}). It tries again by itself, and all else goes on. Show its log to whoever looks after the "
            "machine."
        )
        yield Need(words, reverse("staff_today"))


def reviews(now: datetime, accounts: Mapping[str, AccountInUse]) -> Iterator[Need]:
    """Signed accounts that may not be issued until somebody has reviewed them. No query with the pairs at hand."""
    for key, reasons in review_due(accounts, today=timezone.localdate(now)).items():
        words = f"{accounts[key].account.vernacular()} is not issued until it is reviewed: {' '.join(reasons)}"
        yield Need(words, reverse("staff_account", args=[key]))


def unsigned(now: datetime, accounts: Mapping[str, AccountInUse]) -> Iterator[Need]:
    """How many accounts nobody has signed. No query."""
    names = [one.account.vernacular() for one in accounts.values() if one.sign_off is None]
    if names:
        words = f"{counted(len(names), 'account is', 'accounts are')} not signed: {', '.join(names[:NAMED])}."
        yield Need(words, reverse("staff_curriculum"))


def plans(now: datetime) -> Iterator[Need]:
    """The newest season plan, where proposals of it wait for a decision or it could not be made. Two queries."""
    plan = SeasonPlan.objects.first()
    if plan is None:
        return
    address = reverse("staff_plan", args=[plan.public_id])
    waiting = plan.proposals.filter(state__in=OPEN, local_date__gt=timezone.localdate(now))
    found = waiting.aggregate(number=Count("pk"), first=Min("local_date"))
    if plan.given_up_at:
        yield Need(f"The season plan {plan} could not be made: {plan.last_error}", address)
    elif found["number"]:
        walks = counted(found["number"], "proposed walk waits", "proposed walks wait")
        yield Need(f"In the season plan {plan}, {walks} for a decision.", address, found["first"])
