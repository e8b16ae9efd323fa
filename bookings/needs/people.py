"""People who wait for an answer: letters that failed, access needs, offers, recalled sheets."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta

from django.db.models import Count, Exists, Min, OuterRef
from django.urls import reverse

from bookings.models import AccessNeed, Booking, GroupEnquiry, GroupQuote, OutboxMessage, PaperLetter, Recall
from bookings.needs.need import Need, counted, day_of, named
from bookings.outbox_states import STATES, needing_a_person
from bookings.walk_ups import to_look_at
from foraywright.floor.compute.clock_words import clock
from foraywright.floor.house_time import house_clock
from walks.models import Offering

ENQUIRY_WAITS = timedelta(days=28)
TRIED_OFTEN = 4
"""Tries of a letter, which take some twelve minutes: from then on it is the mail server that wants looking at."""
SETTLED = (Recall.State.ACKNOWLEDGED, Recall.State.RETURNED, Recall.State.GIVEN_UP)


def letters(now: datetime) -> Iterator[Need]:
    """Letters that were given up or came back, with the end of the places that they told of; how many are tried again
    and again. Two queries, three where places are held."""
    for one in needing_a_person().select_related("booking").order_by("written_at"):
        fate = "came back" if one.bounced_at else "could not be sent"
        former = one.kind == OutboxMessage.Kind.FORMER_CONTACT
        now_do = "Look whether anybody is to be told" if former else "Telephone instead"
        words = f"A letter ({one.get_kind_display().lower()}) {fate}. {now_do}, then say so."
        end = _held_until(one.booking, now)
        if end is not None:
            words += f" Their places are held until {clock(end)} on {day_of(end)}."
        yield Need(words, reverse("staff_message", args=[one.public_id]), end and end.date())
    trying = OutboxMessage.objects.filter(STATES["trying"][1], attempts__gte=TRIED_OFTEN)
    waiting = trying.aggregate(number=Count("pk"), first=Min("written_at"))
    if waiting["number"]:
        tried = counted(waiting["number"], "letter is tried", "letters are tried")
        since = day_of(waiting["first"])
        words = f"{tried} again and again, the first since {since}. Look whether mail goes out at all."
        yield Need(words, f"{reverse('staff_outbox')}?state=trying")


def _held_until(booking: Booking | None, now: datetime) -> datetime | None:
    """When a hold ends, by the house's clock; None where nothing is held. One query where it is."""
    if booking is None or booking.state != Booking.State.HELD or not booking.held_until or booking.held_until <= now:
        return None
    return booking.held_until.astimezone(house_clock())


def to_post(now: datetime) -> Iterator[Need]:
    """Letters to people without e-mail that nobody has posted. One query."""
    number = PaperLetter.objects.filter(settled_at=None).count()
    if number:
        yield Need(f"{counted(number, 'letter is', 'letters are')} to be printed and posted.", reverse("staff_post"))


def walk_ups(now: datetime) -> Iterator[Need]:
    """Parties that were taken on without signal against a limit, and nobody has looked at it. One query."""
    for one in to_look_at():
        broken = " ".join(one.against)
        words = (
            f"At the meeting point of {named(one.walk)} a party was taken on over a limit. {broken} Say what follows."
        )
        address = reverse("staff_walk_ups", args=[one.walk.offering.public_id, one.walk.number])
        yield Need(words, f"{address}#walk-up-{one.public_id}", one.walk.local_date)


def access_needs(now: datetime) -> Iterator[Need]:
    """Needs of access that nobody has answered. One query."""
    waiting = AccessNeed.objects.filter(answered_at=None).aggregate(number=Count("pk"), first=Min("asked_at"))
    if waiting["number"]:
        people = counted(waiting["number"], "party asks", "parties ask")
        words = f"{people} whether they can come with what they need, the first since {day_of(waiting['first'])}."
        yield Need(words, reverse("staff_access_needs"))


def enquiries(now: datetime) -> Iterator[Need]:
    """Groups that asked within the last four weeks (our rule) and were quoted nothing. One query."""
    recent = GroupEnquiry.objects.filter(forgotten_at=None, quotes=None, asked_at__gt=now - ENQUIRY_WAITS)
    waiting = recent.aggregate(number=Count("pk"), first=Min("asked_at"))
    if waiting["number"]:
        groups = counted(waiting["number"], "school or club waits", "schools or clubs wait")
        yield Need(f"{groups} for a quote, the first since {day_of(waiting['first'])}.", reverse("staff_groups"))


def declined_quotes(now: datetime) -> Iterator[Need]:
    """Quotes that groups declined, of walks to come that are still kept for them: until another quote is made for the
    walk, or it is called off. One query.
    """
    newer = GroupQuote.objects.filter(offering=OuterRef("offering"), made_at__gt=OuterRef("made_at"))
    kept = GroupQuote.objects.filter(~Exists(newer), offering__state=Offering.State.PUBLISHED)
    declined = kept.filter(declined_at__isnull=False, offering__walks__starts_at__gt=now).distinct()
    for quote in declined.select_related("enquiry", "offering").order_by("declined_at"):
        words = f"“{quote.offering.title}”: the group does not want our quote. Quote it anew, or call the walk off."
        yield Need(words, reverse("staff_group", args=[quote.enquiry.public_id]))


def offers(now: datetime) -> Iterator[Need]:
    """Offers from waiting lists that are open, by walk, with the end of the first. Two queries where there are any."""
    held = Booking.objects.filter(state=Booking.State.HELD, hold_kind=Booking.HoldKind.OFFER, held_until__gt=now)
    rows = held.values_list("offering__public_id", "offering__title")
    found = list(rows.annotate(number=Count("pk"), first=Min("held_until")).order_by("first"))
    zone = house_clock() if found else None
    for public_id, title, number, first in found:
        end = first.astimezone(zone)
        open_ = counted(number, "offer from the waiting list is", "offers from the waiting list are")
        words = f"“{title}”: {open_} open; the first runs out at {clock(end)} on {day_of(end)}."
        yield Need(words, reverse("staff_walk", args=[public_id]), end.date())


def recalls(now: datetime) -> Iterator[Need]:
    """Withdrawn sheets of which copies are still out. One query."""
    rows = Recall.objects.exclude(state__in=SETTLED).values_list("withdrawal", "withdrawal__version__taxon__key")
    for withdrawal, key, number in rows.annotate(number=Count("pk")).order_by("withdrawal"):
        held = counted(number, "copy is", "copies are")
        words = f"{held} still out of a withdrawn sheet ({key}). Reach whoever holds them."
        yield Need(words, reverse("staff_recall", args=[withdrawal]))
