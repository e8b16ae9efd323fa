"""Every act on places and money in any order, by a clock that jumps: nothing is sold twice and no penny is lost."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import ExitStack, suppress
from datetime import timedelta
from uuid import uuid4

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    initialize,
    rule,
    run_state_machine_as_test,
)

from bookings.ground_rules import rules_in_force
from bookings.models import Booking, Place, Transfer
from bookings.queries import is_open_to_all, people_of, price_of, rooms_of
from bookings.services.add_walk_up import CameUnbooked, add_walk_up
from bookings.services.book_places import book_places
from bookings.services.call_off_walk import call_off_walk
from bookings.services.cancel_booking import cancel_booking
from bookings.services.change_party import PartyChange, change_party, change_terms
from bookings.services.choose_after_call_off import choose_refund, choose_voucher, refund_next_unchosen
from bookings.services.confirm_hold import confirm_hold
from bookings.services.extend_hold import extend_hold
from bookings.services.hold_places import hold_places
from bookings.services.issue_invoice import issue_invoice
from bookings.services.issue_voucher import issue_voucher
from bookings.services.join_waiting_list import join_waiting_list
from bookings.services.lapse_holds import lapse_next_hold, warn_of_next_hold
from bookings.services.move_booking import move_booking, move_terms
from bookings.services.offer_places import offer_next_places
from bookings.services.pay_by_voucher import pay_by_voucher
from bookings.services.record_payment import record_payment
from bookings.services.selling import walks_to_come
from bookings.services.take_income import take_next_income
from foraywright.floor.ids import new_secret
from foraywright.floor.models import Business, PolicyVersion
from foraywright.floor.refusals import Refusal
from tests.bookings.books import rolled_back
from tests.bookings.card_rules import CardMoney
from tests.bookings.group_rules import Groups
from tests.cast import WALK_DAY, World
from walks.models import Offering, Site
from walks.services.publish_walk import publish_walk
from walks.services.schedule_walk import schedule_walk

pytestmark = pytest.mark.database

PARTIES = st.lists(st.sampled_from(["adult", "adult", "4-8", "13-17"]), min_size=1, max_size=4)
WHICH = st.integers(0, 30)


class Places(CardMoney, Groups):
    """Two walks, a course of two sessions and a walk kept for schools, few places each, prices that differ."""

    world: World

    def __init__(self) -> None:
        super().__init__()
        self.stack = ExitStack()
        self.received = 0
        self.forms: list[tuple[Callable[[], object], object]] = []

    @initialize(rate=st.sampled_from([2000, 500]))
    def begin(self, rate: int) -> None:
        """`rate`: of the dearer prices. Where it is that of the others too, vouchers are taxed when they are sold."""
        self.stack.enter_context(rolled_back())
        world = self.world
        self.now = world.now
        Business.objects.update(is_demonstration=True)  # it practises with cards
        dearer = PolicyVersion.objects.create(
            kind="prices", number=2, source="the cast", since=self.now, body=_other_prices(world.offering, rate)
        )
        days = [[7], [14, 21]]
        self.offerings = [world.offering]
        for number, weeks in enumerate(days):
            sessions = [world.session(local_date=WALK_DAY + timedelta(days=n), guides=(world.gwen,)) for n in weeks]
            plan = world.plan(*sessions, title=f"Walk {number}", prices=dearer)
            self.offerings.append(
                publish_walk(schedule_walk(plan, by=world.olive, now=self.now), by=world.olive, now=self.now)
            )
        self.offerings.append(self.keep_a_walk())
        Site.objects.update(most_people=7)

    def teardown(self) -> None:
        self.stack.close()

    def offering(self, which: int) -> Offering:
        return Offering.objects.get(pk=self.offerings[which % len(self.offerings)].pk)

    def booking(self, which: int, *states: str) -> Booking | None:
        found = list(Booking.objects.filter(state__in=states or Booking.State.values).order_by("pk"))
        return found[which % len(found)] if found else None

    def _sell(self, sale: Callable[..., Booking], which: int, bands: list[str]) -> None:
        """Sell; only where the list says that anybody may book, and the same form twice is one booking."""
        offering = self.offering(which)
        order = self.world.order(*bands, offering=offering)
        walks = walks_to_come(offering, now=self.now)
        open_to_all = bool(walks) and is_open_to_all(offering, walks, now=self.now, rooms=rooms_of(walks, now=self.now))
        with suppress(Refusal):
            sold = sale(order, by="participant", now=self.now)
            assert open_to_all or sale is join_waiting_list
            assert sale(order, by="participant", now=self.now) == sold
            assert Booking.objects.filter(idempotency_key=order.key).count() == 1

    @rule(which=WHICH, bands=PARTIES)
    def book(self, which: int, bands: list[str]) -> None:
        self._sell(book_places, which, bands)

    @rule(which=WHICH, bands=PARTIES, session=st.sampled_from([None, 15, 70]))
    def hold(self, which: int, bands: list[str], session: int | None) -> None:
        ends = None if session is None else self.now + timedelta(minutes=session)
        order = self.world.order(*bands, offering=self.offering(which))
        with suppress(Refusal):
            hold_places(order, by="participant", session_ends_at=ends, now=self.now)

    @rule(which=WHICH, bands=PARTIES, pays=st.sampled_from(["cash", "later"]))
    def walk_up(self, which: int, bands: list[str], pays: str) -> None:
        """A party stands at the meeting point: now where it may be, seldom by letting the clock jump there."""
        walk = self.offering(which).walks.earliest("starts_at")
        came_at = walk.starts_at - timedelta(minutes=10)
        self.now = came_at if which % 9 == 0 and came_at > self.now else self.now
        order = self.world.order(*bands, offering=walk.offering)
        came = CameUnbooked(uuid4(), order, self.now, pays, "nothing", rules_in_force(), ("Ring", "01632 960 003", ""))
        with suppress(Refusal):
            made = add_walk_up(walk, came, by=self.world.gwen.user, now=self.now)
            assert add_walk_up(walk, came, by=self.world.gwen.user, now=self.now) == made
            self.received += price_of(made.booking) if pays == "cash" else 0

    @rule(which=WHICH, bands=PARTIES)
    def join(self, which: int, bands: list[str]) -> None:
        self._sell(join_waiting_list, which, bands)

    @rule(which=WHICH)
    def extend(self, which: int) -> None:
        if (booking := self.booking(which, "held")) is not None:
            key = new_secret()
            self._send(lambda: extend_hold(booking, key=key, by="participant", now=self.now))

    @rule(which=WHICH)
    def confirm(self, which: int) -> None:
        if (booking := self.booking(which, "held", "lapsed")) is not None:
            self._send(lambda: confirm_hold(booking, by="participant", now=self.now))

    @rule(which=WHICH, amount=st.integers(1, 9000))
    def pay(self, which: int, amount: int) -> None:
        if (booking := self.booking(which)) is not None:
            record_payment(booking, into="bank", amount_minor=amount, by=self.world.olive, now=self.now)
            self.received += amount

    @rule(which=WHICH, times=st.integers(1, 2), state=st.sampled_from(["held", "confirmed", "lapsed", "waiting"]))
    def pay_the_price(self, which: int, times: int, state: str) -> None:
        """In time, too late or twice, as it happens."""
        booking = self.booking(which, state)
        amount = price_of(booking) if booking else 0
        for _ in range(times if amount else 0):
            record_payment(booking, into="cash", amount_minor=amount, by=self.world.olive, now=self.now)
            self.received += amount

    @rule(which=WHICH)
    def invoice(self, which: int) -> None:
        if (booking := self.booking(which)) is not None:
            with suppress(Refusal):
                issue_invoice(booking, buyer="Pat Partridge", by="participant", now=self.now)

    @rule(value=st.integers(1, 9000))
    def sell_a_voucher(self, value: int) -> None:
        issue_voucher(value_minor=value, into="cash", key=new_secret(), by=self.world.olive, now=self.now)
        self.received += value

    @rule(which=WHICH, voucher=WHICH)
    def pay_by_voucher(self, which: int, voucher: int) -> None:
        paying, booking = self.voucher(voucher), self.booking(which)
        if paying is not None and booking is not None:
            with suppress(Refusal):
                pay_by_voucher(booking, paying.code, by="participant", now=self.now)

    @rule(which=WHICH)
    def choose_a_voucher(self, which: int) -> None:
        if (booking := self.booking(which, "called_off")) is not None:
            with suppress(Refusal):
                choose_voucher(booking, by="participant", now=self.now)

    @rule(which=WHICH)
    def cancel(self, which: int) -> None:
        if (booking := self.booking(which)) is not None:
            with suppress(Refusal):
                cancel_booking(booking, by="participant", now=self.now)

    @rule(which=WHICH, bands=PARTIES)
    def grow(self, which: int, bands: list[str]) -> None:
        if (booking := self.booking(which, "confirmed", "waiting")) is not None:
            self._change(booking, PartyChange(add=tuple(bands[:2])))

    @rule(which=WHICH, leaves=WHICH, instead=st.sampled_from([(), ("4-8",), ("adult",)]))
    def shrink_or_swap(self, which: int, leaves: int, instead: tuple[str, ...]) -> None:
        if (booking := self.booking(which, "confirmed", "waiting")) is not None:
            people = people_of(booking)
            gone = frozenset({people[leaves % len(people)].public_id})
            self._change(booking, PartyChange(remove=gone, add=instead))

    def _change(self, booking: Booking, change: PartyChange) -> None:
        key = new_secret()
        terms = change_terms(booking, change, now=self.now).mark
        self._send(lambda: change_party(booking, change, terms=terms, key=key, by="participant", now=self.now))

    @rule(which=WHICH, to=WHICH)
    def move(self, which: int, to: int) -> None:
        if (booking := self.booking(which, "confirmed", "called_off")) is not None:
            target, key = self.offering(to), new_secret()
            terms = move_terms(booking, target, now=self.now).mark
            self._send(lambda: move_booking(booking, target, terms=terms, key=key, by="participant", now=self.now))

    def _send(self, form: Callable[[], object]) -> None:
        """Send a form, and the same form once more: the second time nothing happens."""
        with suppress(Refusal):
            form()
            before = _everything()
            form()
            assert _everything() == before

    @rule(which=WHICH)
    def call_off(self, which: int) -> None:
        if which % 5 == 0:
            with suppress(Refusal):
                call_off_walk(self.offering(which // 5), why="Storm.", by=self.world.olive, now=self.now)

    @rule(most=st.integers(2, 9))
    def change_capacity(self, most: int) -> None:
        Site.objects.update(most_people=most)
        self.slack = {}

    @rule(which=WHICH)
    def choose_money(self, which: int) -> None:
        if (booking := self.booking(which, "called_off")) is not None:
            self._send(lambda: choose_refund(booking, by="participant", now=self.now))

    @rule(step=st.sampled_from([1, 5, 21, 60, 60 * 7, 60 * 24, 60 * 24 * 4, 60 * 24 * 9]))
    def clock_jumps(self, step: int) -> None:
        self.now += timedelta(minutes=step)
        self.slack = {}

    @rule()
    def worker_lets_holds_lapse(self) -> None:
        while warn_of_next_hold(now=self.now):
            pass
        while lapse_next_hold(now=self.now):
            pass
        assert not Booking.objects.filter(state="held", held_until__lte=self.now).exists()

    @rule()
    def worker_offers(self) -> None:
        while offer_next_places(now=self.now):
            pass

    @rule()
    def worker_refunds_who_did_not_choose(self) -> None:
        while refund_next_unchosen(now=self.now):
            pass

    @rule()
    def worker_takes_income(self) -> None:
        while take_next_income(now=self.now):
            pass


def _other_prices(offering: Offering, rate: int) -> dict[str, object]:
    body = offering.prices.body
    return body | {
        "by_band": {band: price * 3 // 2 + 1 for band, price in body["by_band"].items()},
        "vat_basis_points": rate,
    }


def _everything() -> tuple[object, ...]:
    bookings = list(Booking.objects.order_by("pk").values_list("pk", "state", "version", "held_until", "offering"))
    return bookings, Place.objects.filter(given_back_at=None).count(), Transfer.objects.count()


def run(world: World, *, examples: int, steps: int, of: type[Places] = Places, **more: object) -> None:
    machine = type("PlacesOfTheCast", (of,), {"world": world})
    quiet = list(HealthCheck)
    run_state_machine_as_test(
        machine,
        settings=settings(
            max_examples=examples, stateful_step_count=steps, deadline=None, suppress_health_check=quiet, **more
        ),
    )


def test_any_order_of_acts_short(world: World) -> None:
    run(world, examples=8, steps=30)


@pytest.mark.slow
def test_any_order_of_acts_long(world: World) -> None:
    run(world, examples=400, steps=60)
