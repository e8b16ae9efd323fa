"""Reads of bookings that more than one page needs."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime

from django.db.models import Case, F, Max, Q, QuerySet, Sum, When
from django.db.models.expressions import CombinedExpression

from bookings.compute.hold_times import is_too_late_for_offers
from bookings.compute.prices import PriceList, price_list_from
from bookings.compute.repaying import left_of
from bookings.compute.rooms import Room
from bookings.compute.waiting_list import Waiting, is_on_open_sale
from bookings.models import Booking, Person, Place, Transfer, WaitingEntry
from walks.compute.head_count import PartyAges
from walks.compute.head_count import Person as PersonAge
from walks.compute.ratios import RatioStatement, ratio_statement
from walks.models import Offering, Walk, WalkChange
from walks.queries import WalkLimits, walk_limits

TAKE_MONEY = ("bank", "cash", "card")
"""The accounts in which money is, not only promised or owed."""
MEANS = (*TAKE_MONEY, "vouchers_out")
"""What a booking can be paid from: money, and vouchers."""
ADULT = "adult"
ADULT_AGE = 18


def live(now: datetime) -> Q:
    """What counts against a walk's limits: confirmed, or held and the hold not yet over."""
    return Q(state=Booking.State.CONFIRMED) | Q(state=Booking.State.HELD, held_until__gt=now)


def is_live(booking: Booking, *, now: datetime) -> bool:
    """The same of one booking in hand. No query."""
    held = booking.state == Booking.State.HELD and booking.held_until is not None and booking.held_until > now
    return held or booking.state == Booking.State.CONFIRMED


def live_bookings(offering: Offering, *, now: datetime) -> QuerySet[Booking]:
    """The live bookings of an offering with party and people: two queries."""
    bookings = Booking.objects.filter(live(now), offering=offering).select_related("party__contact")
    return bookings.prefetch_related("party__people").order_by("booked_at", "pk")


def live_places(*walks: Walk, now: datetime) -> QuerySet[Place]:
    """The places on `walks` that count against their limits. No query by itself."""
    of_live_bookings = Q(booking__state=Booking.State.CONFIRMED) | Q(
        booking__state=Booking.State.HELD, booking__held_until__gt=now
    )
    return Place.objects.filter(of_live_bookings, walk__in=walks, given_back_at=None)


def parties_on(walk: Walk, *, now: datetime, without: Booking | None = None) -> list[PartyAges]:
    """The ages of everybody with a live place on `walk`, party by party, leaving out one booking. One query."""
    places = live_places(walk, now=now)
    if without is not None:
        places = places.exclude(booking=without)
    return _ages_by_walk(places).get(walk.pk, [])


def parties_of_each(walks: Sequence[Walk], *, now: datetime) -> dict[int, list[PartyAges]]:
    """The same for many walks, by primary key. One query."""
    found = _ages_by_walk(live_places(*walks, now=now))
    return {walk.pk: found.get(walk.pk, []) for walk in walks}


def _ages_by_walk(places: QuerySet[Place]) -> dict[int, list[PartyAges]]:
    by_party: dict[tuple[int, int], list[Person]] = {}
    for place in places.select_related("person").order_by("person__party_id", "person_id"):
        by_party.setdefault((place.walk_id, place.person.party_id), []).append(place.person)
    found: dict[int, list[PartyAges]] = {}
    for (walk, _), people in by_party.items():
        found.setdefault(walk, []).append(ages_of(people))
    return found


def people_on(walk: Walk, *, now: datetime) -> list[Person]:
    """Everybody with a live place on `walk`, party by party, with booking, guardian and declaration. One query."""
    places = live_places(walk, now=now).select_related(
        "person__party__booking", "person__guardian", "person__declaration"
    )
    return [one.person for one in places.order_by("person__party_id", "person_id")]


def ages_of(people: list[Person]) -> PartyAges:
    """The party as the ratios count it: a band counts with its youngest age, a guardian is a place in the same list."""
    order = {person.pk: number for number, person in enumerate(people)}
    return PartyAges(
        tuple(PersonAge(one.youngest_age, order.get(one.guardian_id) if one.guardian_id else None) for one in people)
    )


def rooms_of(walks: Iterable[Walk], *, now: datetime, without: Booking | None = None) -> tuple[Room, ...]:
    """What a sale decides on for each of `walks`. Three queries a walk with guides prefetched."""
    return tuple(_room(walk, now=now, without=without) for walk in walks)


def _room(walk: Walk, *, now: datetime, without: Booking | None) -> Room:
    limits = walk_limits(walk)
    return Room(limits.policy, limits.caps, limits.staff, tuple(parties_on(walk, now=now, without=without)))


def waiting_entries(offering: Offering) -> list[WaitingEntry]:
    """Who waits for places of the offering, in the list's order, with party and people. Two queries."""
    entries = WaitingEntry.objects.filter(booking__offering=offering, booking__state=Booking.State.WAITING)
    entries = entries.select_related("booking__party__contact").prefetch_related("booking__party__people")
    return list(entries.order_by("joined_at", "pk"))


def has_a_list(offering: Offering) -> bool:
    """Whether anybody waits for places of the offering. One query."""
    return WaitingEntry.objects.filter(booking__offering=offering, booking__state=Booking.State.WAITING).exists()


def position_of(booking: Booking) -> int:
    """The booking's place in the waiting list, from 1; 0 where it does not wait. At most two queries."""
    if booking.state != Booking.State.WAITING:
        return 0
    entries = WaitingEntry.objects.filter(booking__offering=booking.offering_id, booking__state=Booking.State.WAITING)
    order = entries.order_by("joined_at", "pk").values_list("booking", flat=True)
    return list(order).index(booking.pk) + 1


def waiting_of(entries: Iterable[WaitingEntry]) -> list[Waiting]:
    """The entries as the decision reads them."""
    return [Waiting(one.pk, ages_of(people_of(one.booking)), one.passed_over) for one in entries]


def people_of(booking: Booking) -> list[Person]:
    """The people of the booking's party in their order. One query, or none where they are prefetched."""
    return sorted(booking.party.people.all(), key=lambda one: one.pk)


def days_before(walk: Walk, *, now: datetime) -> int:
    """Days from now to the walk's day, both on the site's calendar."""
    return (walk.local_date - now.astimezone(walk.clock).date()).days


def is_open_to_all(
    offering: Offering, walks: Sequence[Walk], *, now: datetime, rooms: Sequence[Room], but: Booking | None = None
) -> bool:
    """Whether places of the offering are on open sale: nobody else who waits fits, none are saved. Two queries."""
    waiting = waiting_of(one for one in waiting_entries(offering) if but is None or one.booking_id != but.pk)
    if not waiting or is_too_late_for_offers(now, walks[0].starts_at, walks[0].clock):
        return True
    return is_on_open_sale(rooms, waiting, days_before=days_before(walks[0], now=now))


def statement_of(walk: Walk, *, now: datetime, limits: WalkLimits | None = None) -> RatioStatement:
    """The ratio statement of `walk` with everybody who has a live place. One query, and those of its limits."""
    limits = limits or walk_limits(walk)
    return ratio_statement(limits.policy, limits.caps, limits.staff, parties_on(walk, now=now))


def changes_since(booking: Booking) -> list[WalkChange]:
    """What we changed of the booked walks since the party agreed to them. One query."""
    since = booking.agreed_at or booking.booked_at
    return list(WalkChange.objects.filter(walk__offering=booking.offering_id, at__gt=since))


def may_leave_free(booking: Booking) -> bool:
    """Whether we changed something material since the booking: whoever leaves then gets everything back. One query."""
    return any(one.material for one in changes_since(booking))


def prices_of(offering: Offering) -> PriceList:
    """The price list that the offering sells under. No query where the policy is selected."""
    return price_list_from(offering.prices.body)


def currency_of(booking: Booking) -> str:
    """The currency of the booking's lines, or of its offering where it has none yet. One query, two without lines."""
    known = booking.lines.values_list("currency", flat=True).first()
    return known or prices_of(booking.offering).currency


OWED = Sum(
    Case(
        When(debit__key="receivable", then=F("amount_minor")),
        When(credit__key="receivable", then=-F("amount_minor")),
        default=0,
    )
)
"""Minor units that the bookings of some transfers owe (negative: we owe them), to annotate or aggregate with."""


def credit_of(*accounts: str) -> CombinedExpression:
    """Minor units of some transfers that stand to the credit of `accounts` (below 0: to their debit)."""
    put_in = Sum(Case(When(credit__key__in=accounts, then=F("amount_minor")), default=0))
    return put_in - Sum(Case(When(debit__key__in=accounts, then=F("amount_minor")), default=0))


RECEIVED = -credit_of(*MEANS)
"""Minor units that were received for the bookings of some transfers, refunds taken off."""


def balance(booking: Booking) -> int:
    """Minor units that the booking still owes (negative: we owe them): a sum over its ledger transfers. One query."""
    return Transfer.objects.filter(booking=booking).aggregate(owed=OWED)["owed"] or 0


def due(booking: Booking) -> int:
    """Minor units that the booking costs as it stands: its lines, and what is kept of lines that ended. One query."""
    running = Case(When(ended_at=None, then=F("price_minor") - F("discount_minor")), default=0)
    sums = booking.lines.aggregate(running=Sum(running), kept=Sum("kept_minor"))
    sold = booking.state == Booking.State.CONFIRMED
    return (sums["kept"] or 0) + ((sums["running"] or 0) if sold else 0)


def price_of(booking: Booking) -> int:
    """Minor units that the places it holds cost. One query."""
    lines = booking.lines.filter(ended_at=None)
    return lines.aggregate(sum=Sum(F("price_minor") - F("discount_minor")))["sum"] or 0


def balances(offering: Offering) -> dict[int, int]:
    """What each booking of the offering still owes, by its key; none for a booking without transfers. One query."""
    transfers = Transfer.objects.filter(booking__offering=offering)
    return dict(transfers.values_list("booking").annotate(owed=OWED))


def paid(booking: Booking) -> int:
    """Minor units received for the booking, refunds taken off. One query."""
    return paid_for([booking])


def paid_for(bookings: Iterable[Booking]) -> int:
    """The same of many bookings together. One query."""
    return Transfer.objects.filter(booking__in=bookings).aggregate(paid=RECEIVED)["paid"] or 0


def paid_of_each(bookings: Iterable[Booking]) -> dict[int, int]:
    """The same of each of them, by its key; none for a booking without transfers. One query."""
    return dict(Transfer.objects.filter(booking__in=bookings).values_list("booking").annotate(paid=RECEIVED))


def refund_due(booking: Booking) -> int:
    """Minor units that were promised back and wait to be paid out; nothing is left to choose. One query."""
    return credited(booking, "refunds_due")


def unmatched_of(booking: Booking) -> int:
    """Minor units that came for the booking beyond what it owed, and wait for a person. One query."""
    return credited(booking, "unmatched")


def means_of(booking: Booking) -> list[tuple[str, int]]:
    """The accounts by which money came for the booking, newest first, with what of it was not paid back. One query."""
    rows = booking.transfers.filter(Q(debit__key__in=MEANS) | Q(credit__key__in=MEANS)).order_by("-at", "-pk")
    moves = list(rows.values_list("debit__key", "credit__key", "amount_minor"))
    came = [(debit, amount) for debit, _, amount in moves if debit in MEANS]
    return left_of(came, [(credit, amount) for _, credit, amount in moves if credit in MEANS])


PROMISED = ("refunds_due", "awaiting_choice")


def coming_back(booking: Booking) -> int:
    """Minor units that were promised back and are not paid out yet. One query."""
    return credited(booking, *PROMISED)


def awaiting_choice(booking: Booking) -> int:
    """Minor units of a called-off walk for which nobody has chosen yet: money back, or another walk. One query."""
    return credited(booking, "awaiting_choice")


def credited(booking: Booking, *accounts: str) -> int:
    """Minor units of the booking that stand to the credit of `accounts` (below 0: to their debit). One query."""
    return Transfer.objects.filter(booking=booking).aggregate(sum=credit_of(*accounts))["sum"] or 0


def written_off(booking: Booking) -> int:
    """Minor units that the books count as met though nobody paid them: debts let go, chargebacks too. One query."""
    return max(0, -credited(booking, "bad_debts"))


def standing_in(account: str) -> int:
    """Minor units that stand in `account` now: all debits less all credits. One query."""
    inward = Case(When(debit__key=account, then=F("amount_minor")), default=-F("amount_minor"))
    of_it = Transfer.objects.filter(Q(debit__key=account) | Q(credit__key=account))
    return of_it.aggregate(sum=Sum(inward))["sum"] or 0


def standing_to(account: str) -> list[tuple[str, str, int]]:
    """Booking codes, currencies and minor units that stand to the credit of `account`, the oldest first. One query."""
    signed = Case(
        When(credit__key=account, then=F("amount_minor")), When(debit__key=account, then=-F("amount_minor")), default=0
    )
    touched = Transfer.objects.filter(credit__key=account, booking__isnull=False).values("booking")
    rows = Transfer.objects.filter(booking__in=touched).values("booking__code", "currency")
    standing = rows.annotate(amount=Sum(signed), last=Max("at")).filter(amount__gt=0).order_by("last")
    return list(standing.values_list("booking__code", "currency", "amount"))
