"""What no act on places and money may break, whatever came before it."""

from __future__ import annotations

from collections import Counter
from datetime import datetime

from hypothesis.stateful import RuleBasedStateMachine, invariant

from bookings.compute.hold_times import MOST_EXTENSIONS
from bookings.models import Booking, CardPayment, CardPayout, Chargeback, Voucher
from bookings.needs.need import named
from bookings.needs.walks_ahead import broken_limits
from bookings.queries import is_live, parties_of_each, people_of
from bookings.tax_points import owed_of, standing_vat
from bookings.vouchers import left_on, paid_for_voucher, taken_off, voucher_tax
from bookings.walk_ups import to_look_at
from foraywright.floor.compute.money import tax_within
from foraywright.floor.models import AuditLine
from tests.bookings.books import Books, writes
from walks.compute.ratios import count_parties, limit_lines
from walks.models import Walk
from walks.queries import limits_of, with_everything

NOT_SEATED = (Booking.State.WAITING, Booking.State.LAPSED, Booking.State.CANCELLED, Booking.State.CALLED_OFF)


class Unbroken(RuleBasedStateMachine):
    """The invariants; the rules are those of whoever inherits."""

    now: datetime
    received: int
    """Minor units that came in, by what the rules did, less what card holders took back."""

    def __init__(self) -> None:
        super().__init__()
        self.slack: dict[tuple[int, str], int] = {}
        self.coming: dict[int, int] = {}
        self.over: Counter[int] = Counter()
        self.checked: object = None

    @invariant()
    def everything_holds(self) -> None:
        """What no act may break. Where nothing was written and the clock stood, there is nothing new to read."""
        at = (self.now, writes())
        if at != self.checked:
            self.checked = at
            books, walks = Books(), list(with_everything(Walk.objects.all()))
            for check in CHECKS_OF_BOOKINGS:
                check(self, books)
            for check in CHECKS_OF_WALKS:
                check(self, walks)

    def who_is_live_is_seated_and_nobody_else(self, books: Books) -> None:
        for booking in books.bookings:
            places = [one for one in booking.places.all() if one.given_back_at is None]
            seated = Counter((one.walk_id, one.person_id) for one in places)
            assert not seated or max(seated.values()) == 1
            if is_live(booking, now=self.now):
                walks = [walk for walk in booking.offering.walks.all() if walk.starts_at > self.now]
                assert all((walk.pk, one.pk) in seated for walk in walks for one in people_of(booking))
            elif booking.state in NOT_SEATED:
                held = booking.cancelled_at or self.now
                assert not any(one.walk.starts_at > held for one in places), booking.state
                assert booking.state != Booking.State.WAITING or not places, "nobody waits and comes"

    def the_ledger_balances_and_every_penny_has_a_name(self, books: Books) -> None:
        sums = books.accounts
        assert sum(sums.values()) == 0
        assert sum(sums[one] for one in ("bank", "cash", "card", "provider_fees")) == self.received
        owed = ("refunds_due", "awaiting_choice", "unmatched", "deferred_income", "income", "vat", "vouchers_out")
        claims = ("receivable", "voucher_tax", "charged_back", "bad_debts")
        assert self.received + sum(sums[one] for one in claims) == -sum(sums[one] for one in owed)
        assert max(sums[one] for one in owed) <= 0 <= min(sums[one] for one in (*claims[1:], "provider_fees"))

    def what_cards_cost_is_what_the_ledger_has(self, books: Books) -> None:
        own = CardPayout.objects.filter(is_shared=False, taken_back_at=None)
        fees = [*CardPayment.objects.all(), *Chargeback.objects.all(), *own]
        assert sum(one.fee_minor or 0 for one in fees) == books.accounts["provider_fees"]
        waiting = Chargeback.objects.filter(state=Chargeback.State.WAITING)
        assert sum(one.amount_minor for one in waiting) == books.accounts["charged_back"]

    def what_is_on_vouchers_is_what_the_ledger_holds(self, books: Books) -> None:
        left = [left_on(one) for one in Voucher.objects.all()]
        assert all(one >= 0 for one in left)
        assert sum(left) == -books.accounts["vouchers_out"]

    def a_voucher_owes_the_tax_in_what_was_paid_for_it(self, books: Books) -> None:
        """And what card holders took back of its price is off it, as far as it reaches."""
        for voucher in Voucher.objects.exclude(instead_of__isnull=False):
            owed = tax_within(paid_for_voucher(voucher), voucher.vat_basis_points or 0)
            assert voucher_tax(voucher) == owed
            back = sum(one.amount_minor for one in voucher.chargebacks.filter(state=Chargeback.State.TAKEN_OFF))
            assert taken_off(voucher) == back or (taken_off(voucher) < back and left_on(voucher) == 0)

    def the_sale_in_the_ledger_is_what_the_lines_say(self, books: Books) -> None:
        for booking in books.bookings:
            parts = [-books.of(booking)[one] for one in ("deferred_income", "income", "vat", "voucher_tax")]
            assert sum(parts) == books.due(booking), booking.state
            assert min(parts) >= 0, booking.state

    def the_tax_in_the_ledger_is_what_is_owed_by_now(self, books: Books) -> None:
        for booking in books.bookings:
            owed, sums = owed_of(booking), books.of(booking)
            assert -sums["vat"] == sum(owed.vat.values()), booking.state
            assert -sums["voucher_tax"] == owed.voucher_tax, booking.state
            assert standing_vat(booking).items() <= owed.vat.items(), booking.state
            assert sum(owed.vat.values()) + owed.voucher_tax <= sum(one.vat_minor for one in booking.lines.all())

    def only_a_hold_has_money_before_it_owes(self, books: Books) -> None:
        for booking in books.bookings:
            sums = books.of(booking)
            assert booking.state == Booking.State.HELD or sums["receivable"] >= 0, booking.state
            assert max(sums["refunds_due"], sums["awaiting_choice"]) <= 0, booking.state

    def holds_keep_their_bounds(self, books: Books) -> None:
        for booking in books.bookings:
            if booking.state == Booking.State.HELD:
                assert booking.extensions <= MOST_EXTENSIONS
                assert booking.session_ends_at is None or booking.held_until <= booking.session_ends_at

    def who_was_called_off_or_cancelled_owes_at_most_what_was_kept(self, books: Books) -> None:
        for booking in books.bookings:
            if booking.state == Booking.State.CALLED_OFF:
                begun = any(walk.starts_at <= booking.cancelled_at for walk in booking.offering.walks.all())
                assert begun or books.due(booking) == sum(line.kept_minor for line in booking.lines.all())

    def everything_is_told_and_in_the_audit(self, books: Books) -> None:
        in_audit = set(AuditLine.objects.values_list("object_id", flat=True))
        for booking in books.bookings:
            assert booking.state == Booking.State.HELD or booking.messages.all()
            assert booking.state == Booking.State.HELD or booking.public_id in in_audit

    def no_limit_is_broken_further_but_by_what_is_told_to_a_person(self, walks: list[Walk]) -> None:
        """A departure, which nobody can forbid, and a party that was in the wood and is written down afterwards."""
        limits, parties = limits_of(walks), parties_of_each(walks, now=self.now)
        over = Counter(to_look_at().values_list("walk__offering", flat=True))
        for walk in walks:
            allowed, people = limits[walk.pk], parties[walk.pk]
            coming = sum(len(one.people) for one in people)
            came, left = over[walk.offering_id] > self.over[walk.offering_id], coming < self.coming.get(walk.pk, 0)
            lines = limit_lines(allowed.policy, allowed.caps, allowed.staff, count_parties(allowed.policy, people))
            for line in lines:
                before = self.slack.get((walk.pk, line.key))
                worse = line.slack < 0 and before is not None and line.slack < before and not came
                assert not worse or (left and self._told_of(walk)), (walk, line)
                self.slack[walk.pk, line.key] = line.slack
            self.coming[walk.pk] = coming
        self.over = over

    def _told_of(self, walk: Walk) -> bool:
        """Whether somebody is told; of what has begun nobody is: it is not ahead any more."""
        return walk.starts_at <= self.now or any(named(walk) in one.words for one in broken_limits(self.now))

    def what_the_pages_show_is_what_is_taken(self, walks: list[Walk]) -> None:
        if not Booking.objects.filter(state="held", held_until__lte=self.now).exists():
            for walk in walks:
                assert walk.starts_at <= self.now or walk.places_taken_shown == self.coming[walk.pk]


CHECKS_OF_BOOKINGS = (
    Unbroken.who_is_live_is_seated_and_nobody_else,
    Unbroken.the_ledger_balances_and_every_penny_has_a_name,
    Unbroken.what_cards_cost_is_what_the_ledger_has,
    Unbroken.what_is_on_vouchers_is_what_the_ledger_holds,
    Unbroken.a_voucher_owes_the_tax_in_what_was_paid_for_it,
    Unbroken.the_sale_in_the_ledger_is_what_the_lines_say,
    Unbroken.the_tax_in_the_ledger_is_what_is_owed_by_now,
    Unbroken.only_a_hold_has_money_before_it_owes,
    Unbroken.holds_keep_their_bounds,
    Unbroken.who_was_called_off_or_cancelled_owes_at_most_what_was_kept,
    Unbroken.everything_is_told_and_in_the_audit,
)
CHECKS_OF_WALKS = (
    Unbroken.no_limit_is_broken_further_but_by_what_is_told_to_a_person,
    Unbroken.what_the_pages_show_is_what_is_taken,
)
