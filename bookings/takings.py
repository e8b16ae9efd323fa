"""What walks earned, cost and sold: of one offering, and of a season."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from django.db.models import Count, Min, Q, Sum

from bookings.card_costs import card_costs
from bookings.compute.break_even import break_even, without_vat
from bookings.compute.earned import Earned, Sold, earned_of
from bookings.models import Booking, BookingLine, Place, Transfer, WalkCost
from bookings.queries import ADULT, prices_of
from bookings.tax_points import SIGNED_TAX, sold
from bookings.vat import holding, treatment_of, vat_versions
from foraywright.floor.models import PolicyVersion
from walks.compute.ratios import ratio_statement
from walks.models import Offering, Walk
from walks.queries import limits_of, with_everything


@dataclass(frozen=True, slots=True)
class Takings:
    """One offering in money, minor units of `currency`. `sold`: what its bookings cost and what is kept of those that
    were cancelled, VAT in it; `net`: without it, as the ledger takes it for income once the walks are held;
    `tax_owed`: what of the tax is owed by now, since money came, an invoice went out or a walk was held.
    `by_cards`: what the card provider kept of its payments, and debts that were let go.
    `enough`: how many adults at full price cover the costs; None where no number does."""

    offering: Offering
    first_day: date
    currency: str
    people: int
    offered: int
    sold: int
    net: int
    tax_owed: int
    fixed: int
    for_each: int
    by_cards: int
    enough: int | None

    @property
    def tax(self) -> int:
        """The tax in what is sold, owed by now or not."""
        return self.sold - self.net

    @property
    def costs(self) -> int:
        return self.fixed + self.for_each * self.people + self.by_cards

    @property
    def left(self) -> int:
        return self.net - self.costs


def takings_of(offerings: Sequence[Offering]) -> list[Takings]:
    """The takings of each offering, in their order. Eleven queries, and those of the limits."""
    keys = [one.pk for one in offerings]
    earned, owed = _by_offering(keys), _tax_owed(keys)
    people = dict(
        Place.objects.filter(booking__offering__in=keys, booking__state=Booking.State.CONFIRMED, given_back_at=None)
        .values_list("booking__offering")
        .annotate(people=Count("person", distinct=True))
    )
    costs, by_cards = _costs(keys), card_costs(keys)
    days = dict(Walk.objects.filter(offering__in=keys).values_list("offering").annotate(first=Min("local_date")))
    offered, rates = _offered(keys), _rates(offerings, days)
    return [
        _takings(
            one,
            days[key],
            people=people.get(key, 0),
            offered=offered.get(key, 0),
            earned=earned[key],
            owed=owed.get(key, 0),
            costs=costs[key],
            by_cards=by_cards[key],
            rate=rates[key],
        )
        for key, one in zip(keys, offerings, strict=True)
    ]


def _rates(offerings: Sequence[Offering], days: Mapping[int, date]) -> dict[int, int]:
    """The tax rate in the price of each on its first day, in basis points, by key. One query."""
    versions = vat_versions()
    return {one.pk: _rate(one, holding(versions, days[one.pk])) for one in offerings}


def _rate(offering: Offering, version: PolicyVersion | None) -> int:
    if version is None:
        return prices_of(offering).vat_basis_points
    return treatment_of(offering, version).basis_points


def _takings(
    offering: Offering,
    day: date,
    *,
    people: int,
    offered: int,
    earned: Earned,
    owed: int,
    costs: tuple[int, int],
    by_cards: int,
    rate: int,
) -> Takings:
    prices, (fixed, for_each) = prices_of(offering), costs
    return Takings(
        offering=offering,
        first_day=day,
        currency=prices.currency,
        people=people,
        offered=offered,
        sold=earned.gross_minor,
        net=earned.income_minor,
        tax_owed=owed,
        fixed=fixed,
        for_each=for_each,
        by_cards=by_cards,
        enough=break_even(fixed + by_cards, without_vat(prices.price(ADULT), rate), for_each),
    )


def _by_offering(keys: Iterable[int]) -> dict[int, Earned]:
    """What the bookings of each offering earn once all of its walks are held: tax rounded as the ledger does it, a
    booking at a time. One query.
    """
    lines: dict[tuple[int, int], list[Sold]] = defaultdict(list)
    for line in BookingLine.objects.filter(booking__offering__in=keys).select_related("booking").order_by("pk"):
        lines[line.booking.offering_id, line.booking_id].append(sold(line, line.booking))
    found = dict.fromkeys(keys, Earned(0, 0))
    for (offering, _), of_booking in lines.items():
        one, before = earned_of(of_booking, [1], held=1), found[offering]
        found[offering] = Earned(before.gross_minor + one.gross_minor, before.vat_minor + one.vat_minor)
    return found


def _tax_owed(keys: Sequence[int]) -> dict[int, int]:
    """The tax in the ledger for the bookings of each offering, with what their vouchers owed before. One query."""
    moves = Transfer.objects.filter(booking__offering__in=keys).values_list("booking__offering")
    return dict(moves.annotate(owed=SIGNED_TAX).order_by())


def _costs(keys: Iterable[int]) -> dict[int, tuple[int, int]]:
    """Fixed costs and costs of each person, by offering. One query."""
    found = dict.fromkeys(keys, (0, 0))
    sums = WalkCost.objects.filter(offering__in=found).values_list("offering")
    for key, fixed, for_each in sums.annotate(
        fixed=Sum("amount_minor", filter=Q(for_each=False), default=0),
        each=Sum("amount_minor", filter=Q(for_each=True), default=0),
    ):
        found[key] = (fixed, for_each)
    return found


def _offered(keys: Sequence[int]) -> dict[int, int]:
    """Places offered: the fewest participants that the limits of an offering's walks allow at all."""
    walks = list(with_everything(Walk.objects.filter(offering__in=keys)))
    limits = limits_of(walks)
    found: dict[int, int] = {}
    for walk in walks:
        one = limits[walk.pk]
        most = ratio_statement(one.policy, one.caps, one.staff, ()).places_left
        found[walk.offering_id] = min(found.get(walk.offering_id, most), most)
    return found


def offerings_between(first: date, last: date) -> list[Offering]:
    """The offerings that were not drafts and begin in these days, by their first day. One query."""
    begun = Offering.objects.exclude(state=Offering.State.DRAFT).annotate(first=Min("walks__local_date"))
    return list(begun.filter(first__range=(first, last)).select_related("prices", "theme").order_by("first", "pk"))


@dataclass(frozen=True, slots=True)
class Group:
    """The takings of several offerings under one `label`: a month, a theme."""

    label: str
    sold: int
    people: int
    offered: int


def summed(takings: Sequence[Takings], label: Callable[[Takings], str]) -> list[Group]:
    """The takings added up by `label`, in the order in which the labels first come."""
    groups: dict[str, list[Takings]] = {}
    for one in takings:
        groups.setdefault(label(one), []).append(one)
    return [
        Group(name, sum(t.sold for t in group), sum(t.people for t in group), sum(t.offered for t in group))
        for name, group in groups.items()
    ]
