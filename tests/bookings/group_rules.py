"""The rules of the machine of places that are about groups: quoted, accepted, quoted anew, taken back."""

from __future__ import annotations

from contextlib import suppress
from datetime import timedelta

from hypothesis import strategies as st
from hypothesis.stateful import rule

from bookings.models import Booking, GroupEnquiry, GroupQuote
from bookings.queries import due, people_of
from bookings.quote_states import booked_by
from bookings.services.ask_for_group import ask_for_group
from bookings.services.quote_group import accept_quote, quote_group, withdraw_quote
from foraywright.floor.refusals import Refusal
from tests.bookings.test_groups import ASKED, kept_walk
from tests.bookings.unbroken import Unbroken
from tests.cast import World
from walks.models import Offering

WHICH = st.integers(0, 30)
Wish = tuple[int, int, int, int | None, int | None]
PRICES = st.sampled_from([(1100, None), (999, None), (None, 5001)])
WISHES = st.tuples(st.sampled_from([0, 0, 1]), st.integers(0, 4), st.sampled_from([1, 1, 2]), PRICES).map(
    lambda one: (*one[:3], *one[3])
)
"""Which school, how many children beside one adult, how many leaders, the price of each or of all."""


class Groups(Unbroken):
    """Whoever inherits has the world, and lets it `keep_a_walk` for two schools."""

    world: World

    def keep_a_walk(self) -> Offering:
        """A walk kept for a group, and two schools that ask for it."""
        for _ in range(2):
            ask_for_group(ASKED, by="participant", now=self.now)
        return kept_walk(self.world, weeks=4, guides=(self.world.gwen,))

    def quote(self, which: int) -> GroupQuote | None:
        """A quote; the newest are met most often, since of one school only the newest is open."""
        found = list(GroupQuote.objects.select_related("enquiry", "offering").order_by("-pk")[:3])
        return found[which % len(found)] if found else None

    @rule(wish=WISHES)
    def office_quotes(self, wish: Wish) -> None:
        with suppress(Refusal):
            self._quote(wish)

    @rule(wish=WISHES)
    def is_quoted_and_accepts_at_once(self, wish: Wish) -> None:
        with suppress(Refusal):
            self._accept(self._quote(wish))

    def _quote(self, wish: Wish) -> GroupQuote:
        self.now += timedelta(seconds=1)  # of two quotes of one moment neither would be the newer
        school, children, leaders, a_head, flat = wish
        quote = GroupQuote(
            enquiry=GroupEnquiry.objects.order_by("pk")[school],
            offering=Offering.objects.get(private=True),
            leaders=leaders,
            bands=["9-12"] * children + ["adult"],
            a_head_minor=a_head,
            flat_minor=flat,
            valid_until=(self.now + timedelta(days=10)).date(),
        )
        return quote_group(quote, by=self.world.olive, now=self.now)

    @rule(which=WHICH)
    def group_accepts(self, which: int) -> None:
        if (quote := self.quote(which)) is not None:
            with suppress(Refusal):
                self._accept(quote)

    def _accept(self, quote: GroupQuote) -> None:
        """The first quote is booked, a newer one changes the same booking; accepted again nothing moves."""
        before = booked_by(quote.enquiry, quote.offering)
        booking = accept_quote(quote, by="participant", now=self.now)
        if quote.booking_id is None:
            _assert_follows(booking, quote, before)
        again = accept_quote(quote, by="participant", now=self.now)
        assert (again, again.version, due(again)) == (booking, booking.version, due(booking))

    @rule(which=WHICH)
    def office_withdraws(self, which: int) -> None:
        if which % 4 == 0 and (quote := self.quote(which // 4)) is not None:
            with suppress(Refusal):
                withdraw_quote(quote, by=self.world.olive, now=self.now)


def _assert_follows(booking: Booking, quote: GroupQuote, before: Booking | None) -> None:
    """What was accepted just now is what comes and what is due, with a leader in charge of each child."""
    people = people_of(booking)
    assert before is None or booking == before
    assert due(booking) == quote.total_minor
    assert len(people) == len(quote.bands) + quote.leaders
    assert all(one.guardian is not None for one in people if one.band != "adult")
