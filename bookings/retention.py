"""What is kept until when, and which of it is overdue. The table that the privacy page prints stands here too."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import cache
from pathlib import Path

from django.db.models import Max, Q, QuerySet

from bookings.compute.retention import HEALTH_MARGIN, Limitation, evidence_until, health_until, years_after
from bookings.models import BankLine, Booking, CardPayment, Chargeback, GroupEnquiry, Incident
from curriculum.compute.account import Interval
from curriculum.queries import accounts_in_use
from foraywright.floor.models import ActWords, Business

FILE = Path(__file__).parent / "policies" / "limitation.toml"

YEARS_OF_INVOICES = 6

ERASED = "(erased with the names)"
"""Stands where the office had written something that must not be empty."""

ENDED = (Booking.State.LAPSED, Booking.State.CANCELLED, Booking.State.CALLED_OFF)
"""States in which nobody comes."""


@dataclass(frozen=True, slots=True)
class Rule:
    """One class of personal data: in which fields it stands ("Model.field"), how long it is kept, and why."""

    title: str
    fields: tuple[str, ...]
    kept: str
    why: str


RULES = (
    Rule(
        "Health answers and emergency contacts",
        (
            "Declaration.allergies",
            "Declaration.conditions",
            "Declaration.medicines",
            "Declaration.diet",
            "Declaration.emergency_name",
            "Declaration.emergency_phone",
            "Declaration.emergency_relation",
            "WalkUp.heard",
        ),
        "until the longest onset that we teach is over after the last walk, and 14 days more",
        "an illness after the walk must still find them",
    ),
    Rule(
        "Access needs and their answers",
        ("AccessNeed.need", "AccessNeed.answer"),
        "as long as health answers",
        "they are about the walk and may speak of health",
    ),
    Rule(
        "Keys that open what guides typed on a phone without signal",
        ("RegisterCopy.private_key",),
        "as long as health answers, counted from the walk",
        "a phone may find its signal days later",
    ),
    Rule(
        "What went wrong on a walk, and who had a part in it",
        ("Incident.happened", "Incident.done", "IncidentPerson.name"),
        "until the last claim that a child could bring is over; of participants, as long as their names. The bookings "
        "of participants who had a part in it are kept as long",
        "a claim is decided on what was written down at the time",
    ),
    Rule(
        "Lifts that parties share",
        ("LiftShare.first_name", "LiftShare.area", "LiftShare.shows"),
        "until a day after the last walk, or until the booking ends or is moved",
        "they are for the way there and back, and for nothing after it",
    ),
    Rule(
        "Buyers on invoices and receipts",
        ("Invoice.buyer",),
        "six years from the day of issue, also where all else was erased",
        "tax law asks for invoices as they were issued (UK: VATA 1994 Sch. 11 para. 6, from memory)",
    ),
    Rule(
        "Enquiries of schools and clubs, and the letters with our quotes",
        tuple(f"GroupEnquiry.{name}" for name in GroupEnquiry.TOLD),
        "a year from the day of asking, or until the names of the booking that came of it are erased",
        "a group that asks in one season often comes in the next; what was booked is kept with the booking",
    ),
    Rule(
        "Names, e-mail and postal addresses, phone numbers and the letters that we sent",
        (
            "Contact.name",
            "Contact.folded",
            "Contact.searched",
            "Contact.email",
            "Contact.phone",
            "Contact.address",
            "Person.name",
            "Person.folded",
            "OutboxMessage.as_sent",
            "OutboxMessage.former_address",
            "OutboxMessage.handled_why",
            "WalkUp.answer",
            "Recall.reason",
        ),
        "until claims can no longer be brought: of children, until their own years are over",
        "who came, what was accepted and which sheets were given must be provable, and a recall must reach you",
    ),
    Rule(
        "What a card provider told of a payment",
        tuple(f"CardPayment.{name}" for name in CardPayment.TOLD),
        "as long as the names of the booking; of a voucher, until a claim to it can no longer be brought; card numbers "
        "never reach us",
        "a payment must be found again when somebody asks after it",
    ),
    Rule(
        "What our office wrote of why it let a debt go, settled a payment or erased somebody",
        ("ActWords.said", "Chargeback.reason"),
        "as long as the names of the booking; in any case until a claim from it can no longer be brought",
        "whoever asks later why it was done must be answered; that it was done, by whom and when, stays",
    ),
    Rule(
        "Who paid by bank, and what was written with the payment",
        ("BankLine.payer", "BankLine.text"),
        "as long as the names of the booking; where it belongs to no booking, until a claim to it can no longer be "
        "brought",
        "a payment must be found again when somebody asks after it",
    ),
)


@cache
def _laws() -> dict[str, Limitation]:
    read = tomllib.loads(FILE.read_text(encoding="utf-8"))
    return {key: Limitation(**values) for key, values in read.items()}


def law() -> Limitation:
    """The limitation periods of the business's jurisdiction; the longest known where there is no entry, as before the
    business is recorded. One query."""
    laws = _laws()
    here = laws.get(Business.objects.values_list("jurisdiction", flat=True).first() or "")
    return here or max(laws.values(), key=lambda one: (one.contract, one.injury, one.of_age))


def longest_onset() -> timedelta:
    """The longest onset of any account in use: how long after a meal somebody may still fall ill."""
    hours = [
        one.account.toxicology.onset_hours.high
        for one in accounts_in_use().values()
        if one.account.toxicology and isinstance(one.account.toxicology.onset_hours, Interval)
    ]
    return timedelta(hours=float(max(hours, default=0)))


def health_ended(*, now: datetime) -> datetime:
    """Of walks that were over by then health answers are kept no longer."""
    return now - longest_onset() - HEALTH_MARGIN


def overdue_health(*, now: datetime) -> QuerySet[Booking]:
    """Bookings of which health answers or access needs are left beyond their time, unless kept longer. No walk to come
    is among them, and an ended booking is due at once."""
    ended = health_ended(now=now)
    declared = Q(party__people__declaration__isnull=False) | Q(walk_up__heard__isnull=False)
    holds = declared | Q(access_needs__isnull=False)
    over = Q(last__lte=ended) | Q(state__in=ENDED)
    bookings = Booking.objects.annotate(last=Max("offering__walks__ends_at"))
    return bookings.filter(holds, over).exclude(_kept_longer(now)).distinct()


def overdue_names(*, now: datetime) -> QuerySet[Booking]:
    """Bookings old enough that names might be due, with those names not yet erased; `names_until` decides each.

    What `names_until` reads is fetched with them: four queries for each lot of rows, whatever its size.
    """
    bookings = Booking.objects.annotate(last=Max("offering__walks__ends_at"))
    shortest = now - timedelta(days=365 * law().contract)
    due = bookings.filter(last__lte=shortest, party__contact__erased_at=None).exclude(_kept_longer(now))
    return due.select_related("party__contact", "offering").prefetch_related("offering__walks", "party__people")


def overdue_lines(*, now: datetime) -> QuerySet[BankLine]:
    """Settled lines of bank statements that belong to no booking and still name somebody beyond their time."""
    return BankLine.objects.filter(booking=None, settled_at__lte=_claims_ended(now)).exclude(payer="", text="")


def overdue_payers(*, now: datetime) -> QuerySet[CardPayment]:
    """Card payments of vouchers of which a provider told something that is kept beyond its time."""
    old = CardPayment.objects.filter(booking=None, created__lte=_claims_ended(now))
    return old.exclude(**CardPayment.NOTHING_TOLD)


def overdue_words(*, now: datetime) -> QuerySet[ActWords]:
    """What the office wrote of why it did something, so long ago that nobody can bring a claim from it, and of no
    booking that is kept longer."""
    kept = Booking.objects.filter(_kept_longer(now)).values("public_id")
    old = ActWords.objects.filter(said__isnull=False, line__at__lte=_claims_ended(now))
    return old.exclude(line__object_id__in=kept)


def overdue_chargebacks(*, now: datetime) -> QuerySet[Chargeback]:
    """Chargebacks of vouchers that were settled as long ago, for a reason that still stands there."""
    settled = Chargeback.objects.filter(booking=None, settled_at__lte=_claims_ended(now))
    return settled.exclude(reason__in=("", ERASED))


def _claims_ended(now: datetime) -> datetime:
    """Claims from contracts of before then can no longer be brought."""
    return now - timedelta(days=366 * law().contract)


def overdue_incidents(*, now: datetime) -> QuerySet[Incident]:
    """Incidents so long ago that not even somebody who was a baby then can bring a claim, not yet emptied."""
    rule = law()
    ended = years_after(now.date(), -(rule.of_age + max(rule.contract, rule.injury) + 1))
    return Incident.objects.filter(at__date__lt=ended).exclude(happened__isnull=True)


def _kept_longer(now: datetime) -> Q:
    return Q(kept_longer__until__gte=now.date())


def names_until(booking: Booking, rule: Limitation) -> date:
    """The last day on which the names of the booking's party are kept under `rule`. Two queries, none if prefetched."""
    last = max(booking.offering.walks.all(), key=lambda walk: walk.ends_at)
    ages = [one.youngest_age for one in booking.party.people.all()] or [18]
    return max(evidence_until(last.local_date, age, rule) for age in ages)


def health_kept_until(booking: Booking) -> datetime:
    """When the health answers of the booking are erased. One query, and those of the accounts in use."""
    last = booking.offering.walks.aggregate(last=Max("ends_at"))["last"]
    return health_until(last, longest_onset())
