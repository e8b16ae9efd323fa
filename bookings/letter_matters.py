"""What one kind of letter says beyond the facts of the booking: its own matter, read when it is sent."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from datetime import datetime
from typing import Any

from django.db.models import Max, Sum

from bookings.adults import short_of_adults
from bookings.compute.changes_told import Told, net_changes
from bookings.compute.joining import Forecast, Outing, weather_note, what_to_bring
from bookings.letter_facts import date_of
from bookings.models import Booking, CallOffChoice, OutboxMessage, Person, Transfer
from bookings.queries import may_leave_free
from bookings.services.cancel_booking import settlement
from curriculum.models import Withdrawal
from curriculum.queries import account_of
from foraywright.floor.compute.clock_words import clock, day_words
from walks.models import Offering, Walk, WalkChange

Kind = OutboxMessage.Kind
Context = Mapping[str, Any]
Matter = Callable[[OutboxMessage, Context, datetime], dict[str, Any]]
SHORE = frozenset({"saltmarsh", "rocky_shore", "sheltered_shore", "rock_pool", "beach_head"})


def matter_of(message: OutboxMessage, context: Context, *, now: datetime) -> dict[str, Any]:
    """The matter of `message` about a booking, `context` being the facts of that. At most ten queries."""
    made = MATTER.get(Kind(message.kind))
    return made(message, context, now) if made else {}


def _called_off(message: OutboxMessage, context: Context, now: datetime) -> dict[str, Any]:
    choice = CallOffChoice.objects.filter(booking=message.booking, choice="").first()
    why = _sentence(context["offering"].called_off_why)
    return {"reason": why, "choose_by": choice and _here(choice.choose_by, context)}


def _cancelled(message: OutboxMessage, context: Context, now: datetime) -> dict[str, Any]:
    sold = "Your places are free for others."
    return {"given_back": sold if context["sold"] else "You gave back what was held for you, or left the waiting list."}


def _held(message: OutboxMessage, context: Context, now: datetime) -> dict[str, Any]:
    until = context["held_until"]
    return {"held_until": f"{day_words(until)}, {clock(until)}" if until else ""}


def _paid_too_late(message: OutboxMessage, context: Context, now: datetime) -> dict[str, Any]:
    waits = context["booking"].state == Booking.State.WAITING
    return {"on_the_list": "You are on the waiting list, at the place that you had." if waits else ""}


def _recall(message: OutboxMessage, context: Context, now: datetime) -> dict[str, Any]:
    withdrawal = Withdrawal.objects.select_related("version__taxon").get(pk=message.version)
    return {
        "sheet_name": account_of(withdrawal.version).vernacular(),
        "version_number": withdrawal.version.number,
        "reason": withdrawal.reason,
    }


def _money(message: OutboxMessage, context: Context, now: datetime) -> dict[str, Any]:
    """All of one payment: what is more than owed is a row of its own, before the one that the letter names. Another
    payment of the same statement has a letter of its own, even at the same moment.
    """
    told = OutboxMessage.objects.filter(booking=message.booking, kind=message.kind, version__lt=message.version)
    before = told.aggregate(last=Max("version"))["last"] or 0
    one = Transfer.objects.get(pk=message.version)
    rows = Transfer.objects.filter(booking=message.booking, kind=one.kind, at=one.at)
    same = rows.filter(pk__gt=before, pk__lte=one.pk)
    return {"amount": same.aggregate(sum=Sum("amount_minor"))["sum"]}


def _payment_due(message: OutboxMessage, context: Context, now: datetime) -> dict[str, Any]:
    first = context["dues"]
    return {"amount": first.first, "due_by": day_words(first.by) if first.by else ""}


def _handout(message: OutboxMessage, context: Context, now: datetime) -> dict[str, Any]:
    """One walk alone: each of a course has a handout of its own."""
    return {"dates": [date_of(Walk.objects.select_related("site", "offering").get(pk=message.version))]}


def _joining(message: OutboxMessage, context: Context, now: datetime) -> dict[str, Any]:
    walk = Walk.objects.select_related("site", "offering").get(pk=message.version)
    children = Person.objects.filter(party=context["booking"].party_id).exclude(band="adult").exists()
    outing = Outing(
        month=walk.local_date.month,
        minutes=walk.minutes,
        in_the_dark=walk.is_night_walk,
        on_the_shore=walk.low_water is not None or bool(SHORE & set(walk.site.habitats)),
        has_children=children,
    )
    return {
        "dates": [date_of(walk)],
        "site": walk.site,
        "lifts": walk.lifts_shared and context["booking"].state == Booking.State.CONFIRMED,
        "bring": list(what_to_bring(outing)),
        "weather": weather_note(_forecast(walk), now=now),
    }


def _forecast(walk: Walk) -> Forecast | None:
    row = walk.forecasts.order_by("-entered_at", "-pk").first()
    if row is None:
        return None
    return Forecast(float(row.celsius), float(row.wind_kmh), row.source, row.issued_at.astimezone(walk.clock))


def _walk_changed(message: OutboxMessage, context: Context, now: datetime) -> dict[str, Any]:
    booking = context["booking"]
    changes, free = untold_changes(booking), may_leave_free(booking)
    return {
        "changes": net_changes(told_of(changes)),
        "reason": " ".join(dict.fromkeys(_sentence(one.why) for one in changes)),
        "free_exit": free,
        "begun": booking.offering.walks.filter(starts_at__lte=now).exists(),
        "back": settlement(booking, ours=False, now=now).back if free else 0,
    }


def untold_changes(booking: Booking) -> list[WalkChange]:
    """The changes since the last that the booking was told of, in their order. Two queries."""
    told = OutboxMessage.objects.filter(booking=booking, kind=Kind.WALK_CHANGED, not_needed="")
    last = told.exclude(done_at=None).order_by("-version").values_list("version", flat=True).first() or 0
    since = booking.agreed_at or booking.booked_at
    found = WalkChange.objects.filter(walk__offering=booking.offering_id, at__gt=since, pk__gt=last)
    return list(found.select_related("walk__offering").order_by("pk"))


def told_of(changes: Iterable[WalkChange]) -> list[Told]:
    """The changes as the computation takes them."""
    return [
        Told(one.walk_id, what["field"], _label(one.walk, what["label"]), what["before"], what["after"])
        for one in changes
        for what in one.what
    ]


def _label(walk: Walk, label: str) -> str:
    return f"Session {walk.number}, {label}" if walk.offering.kind == Offering.Kind.COURSE else label


def _declaration(message: OutboxMessage, context: Context, now: datetime) -> dict[str, Any]:
    missing = undeclared(context["booking"])
    return {"missing": "one person" if missing == 1 else f"{missing} people"}


def undeclared(booking: Booking) -> int:
    """How many people of the party have declared nothing yet. One query."""
    return Person.objects.filter(party=booking.party_id, declaration=None).count()


def _short_of_adults(message: OutboxMessage, context: Context, now: datetime) -> dict[str, Any]:
    back = settlement(context["booking"], ours=False, now=now).back
    return {"limit": short_of_adults(message.version, now=now), "back": back}


def _here(moment: datetime, context: Context) -> datetime:
    return moment.astimezone(context["dates"][0].start.tzinfo)


def _sentence(why: str) -> str:
    words = why.strip().rstrip(".")
    return f"{words[:1].upper()}{words[1:]}." if words else ""


MATTER: Mapping[str, Matter] = {
    Kind.CALLED_OFF: _called_off,
    Kind.CANCELLED: _cancelled,
    Kind.OFFER: _held,
    Kind.HOLD_LAPSING: _held,
    Kind.PAID_TOO_LATE: _paid_too_late,
    Kind.RECALL: _recall,
    Kind.PAYMENT: _money,
    Kind.REFUND_PAID: _money,
    Kind.PAYMENT_DUE: _payment_due,
    Kind.HANDOUT_READY: _handout,
    Kind.JOINING: _joining,
    Kind.WALK_CHANGED: _walk_changed,
    Kind.DECLARATION: _declaration,
    Kind.SHORT_OF_ADULTS: _short_of_adults,
}
