"""What a walk's own page and a booking's page show."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime

from bookings.arrivals import arrivals_of
from bookings.attendance import certificates_of
from bookings.compute.dues import Dues, dues
from bookings.compute.prices import Concession
from bookings.compute.references import creditor_reference, in_groups
from bookings.compute.refunds import in_words, tiers_from
from bookings.dues import deposit_of
from bookings.models import Booking, CallOffChoice, Person, Recall, Voucher
from bookings.queries import (
    ADULT,
    balance,
    changes_since,
    coming_back,
    has_a_list,
    is_live,
    is_open_to_all,
    paid,
    position_of,
    prices_of,
    rooms_of,
    statement_of,
    unmatched_of,
)
from bookings.vat import taxed_as
from curriculum.compute.account import Account
from curriculum.compute.expected import Expectation, Expected
from curriculum.compute.half_months import half_month
from curriculum.compute.phenology import Chance, season_curve
from curriculum.queries import AccountInUse, account_of, accounts_in_use, species_slugs, vocabulary
from walks.compute.age_bands import RatioPolicy
from walks.compute.arrivals import ArrivalLine
from walks.compute.daylight import Daylight
from walks.compute.occupancy import occupancy
from walks.compute.ratios import RatioStatement
from walks.finds import noted_before
from walks.models import Offering, Walk, WalkChange
from walks.queries import WalkLimits, expectation_of, light_at, limits_of, with_everything
from walks.shown import DatedWalk, dated, leaders
from walks.site_routes import RouteFacts, route_drawing, route_facts


@dataclass(frozen=True, slots=True)
class SpeciesLine:
    """A species that the walk may meet. `danger`: "deadly", "poisonous" or empty; `chance` only of what is expected."""

    name: str
    scientific: str
    slug: str
    tier: str
    danger: str
    half_months: tuple[float, ...]
    chance: Chance | None = None


@dataclass(frozen=True, slots=True)
class Session:
    """One dated walk with all that its page says of it.

    `drawing`: its route as SVG, only where the site lets it be public.
    `mark`: its half month, 0 to 23. `number`: how many of `hoped` and `also` the walk meets on average.
    """

    at: DatedWalk
    leaders: str
    light: Daylight
    mark: int
    number: float
    hoped: tuple[SpeciesLine, ...]
    also: tuple[SpeciesLine, ...]
    not_now: tuple[SpeciesLine, ...]
    deadly: tuple[SpeciesLine, ...]
    poisonous: tuple[SpeciesLine, ...]
    statement: RatioStatement
    route: RouteFacts | None
    drawing: str
    arrivals: tuple[ArrivalLine, ...]

    @property
    def taught(self) -> int:
        """How many taught species may be met."""
        return len(self.hoped) + len(self.also)


@dataclass(frozen=True, slots=True)
class AgePrice:
    """What one person of an age band pays, in minor units, and how many such children one adult looks after."""

    field: str
    label: str
    price: int
    to_one_adult: int | None


@dataclass(frozen=True, slots=True)
class WalkPage:
    """The page of an offering. `tightest`: the session with fewest places left; `begun`: no more bookings for that.

    `saved`: free places go to those on the waiting list. `taxed`: value added tax is in the prices.
    """

    offering: Offering
    sessions: tuple[Session, ...]
    tightest: Session
    begun: bool
    ages: tuple[AgePrice, ...]
    currency: str
    refund_terms: str
    ratio_source: str
    saved: bool = False
    concessions: tuple[Concession, ...] = ()
    taxed: bool = False

    @property
    def left(self) -> int:
        """Places on open sale: none while free ones go to those who wait."""
        return 0 if self.saved else self.tightest.statement.places_left

    @property
    def may_wait(self) -> bool:
        """Whether there is a waiting list to join."""
        return not self.called_off and not self.begun

    @property
    def called_off(self) -> bool:
        return self.offering.state == Offering.State.CALLED_OFF

    @property
    def state(self) -> str:
        return "called_off" if self.called_off else occupancy(self.left)

    @property
    def bookable(self) -> bool:
        return not self.called_off and not self.begun and self.left > 0

    @property
    def children_alone(self) -> list[tuple[int, list[str]]]:
        """How many more children without an adult of their own could join, with the age bands that this holds for."""
        numbers: dict[int, list[str]] = {}
        for one in self.tightest.statement.could_join:
            if one.key != ADULT:
                numbers.setdefault(one.number, []).append(one.label)
        return list(numbers.items())


def walk_page_of(offering: Offering, *, now: datetime) -> WalkPage:
    """The page of a public `offering`: seven queries, and two for each of its walks."""
    walks = list(offering.walks.all())
    limits, accounts, slugs = limits_of(walks), accounts_in_use(), species_slugs()
    sessions = tuple(_session(walk, limits[walk.pk], accounts, slugs, now=now) for walk in walks)
    coming = [one for one in sessions if one.at.walk.ends_at > now] or sessions
    policy = limits[walks[0].pk].policy
    return WalkPage(
        offering=offering,
        sessions=sessions,
        tightest=min(coming, key=lambda one: one.statement.places_left),
        begun=min(walk.starts_at for walk in walks) <= now,
        ages=tuple(_ages(offering, policy)),
        currency=offering.prices.body["currency"],
        refund_terms=in_words(tiers_from(offering.refunds.body)),
        ratio_source=policy.source,
        saved=_is_saved(offering, walks, now=now),
        concessions=prices_of(offering).concessions,
        taxed=taxed_as(offering, now=now).basis_points > 0,
    )


def _is_saved(offering: Offering, walks: list[Walk], *, now: datetime) -> bool:
    """Whether free places go to those who wait. One query where nobody does."""
    if not has_a_list(offering):
        return False
    coming = [walk for walk in walks if walk.ends_at > now]
    return bool(coming) and not is_open_to_all(offering, coming, now=now, rooms=rooms_of(coming, now=now))


def _session(
    walk: Walk, limits: WalkLimits, accounts: Mapping[str, AccountInUse], slugs: Mapping[str, str], *, now: datetime
) -> Session:
    expected = expectation_of(walk, dict(accounts), lists=noted_before(walk))
    lines = _Lines(accounts, slugs)
    return Session(
        at=dated(walk, limits),
        leaders=leaders(walk),
        light=light_at(walk.site, walk.local_date),
        mark=half_month(walk.local_date),
        number=expected.number,
        hoped=lines.expected(one for one in expected.taught if one.wanted),
        also=lines.expected(one for one in expected.taught if not one.wanted),
        not_now=lines.of(expected.not_now),
        deadly=lines.of(_dangers(expected, deadly=True)),
        poisonous=lines.of(_dangers(expected, deadly=False)),
        statement=statement_of(walk, now=now, limits=limits),
        route=route_facts(walk.site),
        drawing=route_drawing(walk.site) if walk.site.route_is_public else "",
        arrivals=arrivals_of(walk, now=now) if walk.arrivals.asks else (),
    )


def _dangers(expected: Expectation, *, deadly: bool) -> list[Account]:
    return [one for one in expected.dangers if (one.edibility == "deadly") is deadly]


@dataclass(frozen=True, slots=True)
class _Lines:
    accounts: Mapping[str, AccountInUse]
    slugs: Mapping[str, str]

    def of(self, accounts: Iterable[Account]) -> tuple[SpeciesLine, ...]:
        return tuple(self._line(one) for one in accounts)

    def expected(self, taxa: Iterable[Expected]) -> tuple[SpeciesLine, ...]:
        return tuple(self._line(one.account, one.chance) for one in taxa)

    def _line(self, account: Account, chance: Chance | None = None) -> SpeciesLine:
        edibility = vocabulary().terms["edibility"][account.edibility]
        return SpeciesLine(
            name=account.vernacular(),
            scientific=account.accepted_name,
            slug=self.slugs.get(self.accounts[account.taxon].taxon.public_id, ""),
            tier=vocabulary().label("tier", account.tier) if account.tier else "",
            danger=edibility.label if edibility.danger else "",
            half_months=season_curve(account.season),
            chance=chance,
        )


def _ages(offering: Offering, policy: RatioPolicy) -> Iterator[AgePrice]:
    prices = prices_of(offering)
    yield AgePrice("adults", "18 and over", prices.price(ADULT), None)
    for band in policy.bands:
        yield AgePrice(f"age_{band.key}", band.label, prices.price(band.key), band.children_per_adult)


@dataclass(frozen=True, slots=True)
class BookingPage:
    """A booking's own page. Money in minor units: `kept` of places that were given up, `owed` still to be paid,
    `coming_back` promised, not yet paid out, `beyond` came beyond what was owed and waits for a person. `begun`: a
    session has begun; `to_come`: one has not.
    """

    booking: Booking
    days: tuple[DatedWalk, ...]
    people: tuple[Person, ...]
    price: int
    kept: int
    paid: int
    owed: int
    coming_back: int
    beyond: int
    currency: str
    reference: str
    begun: bool
    to_come: bool
    today: date
    live: bool
    held_until: datetime | None
    position: int
    choice: CallOffChoice | None
    changes: tuple[WalkChange, ...] = ()
    certificates: int = 0
    deposit: tuple[int, date] | None = None
    discount: int = 0
    vouchers: tuple[Voucher, ...] = ()

    @property
    def dues(self) -> Dues:
        """What is to be paid first, and what later; nothing before the booking is sold."""
        deposit = self.deposit if self.sold else None
        return dues(self.owed, self.paid, pay_by=self.booking.pay_by, deposit=deposit)

    @property
    def overdue(self) -> bool:
        return self.dues.by is not None and self.dues.by < self.today

    @property
    def held(self) -> bool:
        """Whether the places are held and not yet booked."""
        return self.live and self.booking.state == Booking.State.HELD

    @property
    def sold(self) -> bool:
        return self.booking.state == Booking.State.CONFIRMED

    @property
    def waiting(self) -> bool:
        return self.booking.state == Booking.State.WAITING

    @property
    def lapsed(self) -> bool:
        """Whether the time to book the places ran out, noted or not."""
        return not self.live and self.booking.state in (Booking.State.HELD, Booking.State.LAPSED)

    @property
    def may_extend(self) -> bool:
        """Whether one press holds the places for longer."""
        return self.held and self.booking.may_be_held_longer

    @property
    def free_exit(self) -> bool:
        """Whether we changed something material, so that whoever leaves gets everything back."""
        return self.changeable and any(one.material for one in self.changes)

    @property
    def changeable(self) -> bool:
        """Whether it can be given back, left or cancelled."""
        return (self.live or self.waiting) and self.to_come


def booking_page_of(booking: Booking, *, now: datetime) -> BookingPage:
    """The page of `booking`: fifteen queries, two more for one that waits."""
    walks = list(with_everything(Walk.objects.filter(offering=booking.offering_id)))
    limits, zone = limits_of(walks), walks[0].clock
    lines = list(booking.lines.select_related("prices"))
    running = [one for one in lines if one.ended_at is None] or lines
    return BookingPage(
        booking=booking,
        days=tuple(dated(walk, limits[walk.pk]) for walk in walks),
        people=tuple(booking.party.people.order_by("pk")),
        price=sum(line.net_minor for line in running),
        kept=sum(line.kept_minor for line in lines),
        discount=sum(line.discount_minor for line in running),
        vouchers=tuple(booking.vouchers.order_by("pk")),
        deposit=deposit_of(booking, running, walks[0]),
        today=now.astimezone(zone).date(),
        paid=paid(booking),
        owed=balance(booking),
        coming_back=coming_back(booking),
        beyond=unmatched_of(booking),
        currency=lines[0].currency if lines else prices_of(booking.offering).currency,
        live=is_live(booking, now=now),
        held_until=booking.held_until.astimezone(zone) if booking.held_until else None,
        position=position_of(booking),
        choice=CallOffChoice.objects.filter(booking=booking, choice="").first(),
        reference=in_groups(creditor_reference(booking.code)),
        changes=tuple(changes_since(booking)),
        certificates=len(certificates_of(booking.offering, booking=booking, now=now)),
        begun=min(walk.starts_at for walk in walks) <= now,
        to_come=max(walk.starts_at for walk in walks) > now,
    )


@dataclass(frozen=True, slots=True)
class RecalledSheet:
    """A withdrawn sheet that the holder of a booking may have."""

    public_id: str
    name: str
    reason: str
    settled: bool


def recalls_of(booking: Booking) -> list[RecalledSheet]:
    """The withdrawn sheets that the booking may hold, the newest first. One query."""
    recalls = Recall.objects.filter(booking=booking).select_related("withdrawal__version").order_by("-pk")
    return [
        RecalledSheet(
            one.public_id, account_of(one.withdrawal.version).vernacular(), one.withdrawal.reason, one.is_settled
        )
        for one in recalls
    ]
