"""The rules of the machine of places that are about cards: paid, taken back, given back, passed on."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from typing import Any

from hypothesis import strategies as st
from hypothesis.stateful import rule

from bookings.card_provider import practice_notice, signed_notice
from bookings.models import Booking, CardPayment, CardPayout, Chargeback, Transfer, Voucher
from bookings.services.note_card_payout import note_card_payout
from bookings.services.note_chargeback import left_of_meeting_point, left_of_payment, note_chargeback
from bookings.services.order_voucher import order_voucher
from bookings.services.pay_voucher_back import pay_voucher_back
from bookings.services.receive_card_notice import receive_card_notice
from bookings.services.settle_chargeback import settle_chargeback
from bookings.services.start_card_payment import start_card_payment, start_voucher_payment
from bookings.services.take_chargeback_back import reopen_chargeback, take_chargeback_back
from bookings.services.take_payout_back import take_payout_back
from bookings.vouchers import left_on
from foraywright.floor.ids import new_secret
from foraywright.floor.refusals import Refusal
from tests.bookings.unbroken import Unbroken
from tests.cast import World

WHICH = st.integers(0, 30)


class CardMoney(Unbroken):
    """Whoever inherits has the world and `booking`."""

    world: World

    def booking(self, which: int, *states: str) -> Booking | None:
        raise NotImplementedError

    def card_payment(self, which: int) -> CardPayment | None:
        found = list(CardPayment.objects.order_by("pk"))
        return found[which % len(found)] if found else None

    def voucher(self, which: int) -> Voucher | None:
        found = list(Voucher.objects.order_by("pk"))
        return found[which % len(found)] if found else None

    @rule(which=WHICH)
    def goes_to_the_card(self, which: int) -> None:
        if (booking := self.booking(which, "held", "confirmed")) is not None:
            with suppress(Refusal):
                start_card_payment(booking, by="participant", now=self.now)

    @rule(value=st.integers(1, 9000))
    def orders_a_voucher_by_card(self, value: int) -> None:
        order = order_voucher(value, key=new_secret(), by="participant", now=self.now)
        start_voucher_payment(order, by="participant", now=self.now)

    @rule(which=WHICH, does=st.sampled_from(["pay", "pay", "pay", "decline", "take_back", "give_back"]))
    def provider_tells(self, which: int, does: str) -> None:
        """Twice the same: the second time nothing moves."""
        payment = self.card_payment(which)
        told = practice_notice(payment, does) if payment is not None else None
        if payment is None or told is None:
            return
        self._receive(payment, told)
        before = Transfer.objects.count()
        self._receive(payment, told)
        assert Transfer.objects.count() == before

    def _receive(self, payment: CardPayment, told: dict[str, Any]) -> None:
        """Notice and count what card and fees hold, which only this provider moves."""
        before = self._by_card()
        answer = receive_card_notice(payment, signed_notice(payment, told), now=self.now)
        assert answer.status_code == 200
        self.received += self._by_card() - before

    def _by_card(self) -> int:
        """What came by card less what its holders have back, as the payments and chargebacks say."""
        paid = sum(one.written_minor for one in CardPayment.objects.all())
        back = Chargeback.objects.exclude(state__in=Chargeback.NOT_GONE)
        return paid - sum(one.amount_minor for one in back)

    @rule(which=WHICH, part=st.integers(1, 3))
    def office_notes_a_chargeback(self, which: int, part: int) -> None:
        if (payment := self.card_payment(which)) is not None:
            self._note_chargeback(payment.booking or payment.voucher, payment, left_of_payment(payment) // part)

    @rule(which=WHICH, part=st.integers(1, 3))
    def a_card_of_the_meeting_point_is_charged_back(self, which: int, part: int) -> None:
        if (booking := self.booking(which, "confirmed", "cancelled", "called_off")) is not None:
            self._note_chargeback(booking, None, left_of_meeting_point(booking) // part)

    @rule(which=WHICH, part=st.integers(1, 3))
    def a_card_for_a_voucher_is_charged_back_where_we_meet(self, which: int, part: int) -> None:
        if (voucher := self.voucher(which)) is not None:
            self._note_chargeback(voucher, None, left_of_meeting_point(voucher) // part)

    def _note_chargeback(self, paid_for: Booking | Voucher | None, payment: CardPayment | None, amount: int) -> None:
        before = self._by_card()
        if paid_for is not None:
            with suppress(Refusal):
                note_chargeback(
                    paid_for, payment, amount_minor=amount, key=new_secret(), by=self.world.olive, now=self.now
                )
        self.received += self._by_card() - before

    @rule(which=WHICH, out_of=st.sampled_from(["cash", "card"]))
    def office_pays_a_voucher_back(self, which: int, out_of: str) -> None:
        if (voucher := self.voucher(which)) is not None:
            left, told = left_on(voucher), {"reason": "Changed their mind.", "by": self.world.olive, "now": self.now}
            with suppress(Refusal):
                self.received -= pay_voucher_back(voucher, out_of=out_of, seen=left, **told)

    @rule(
        which=WHICH,
        state=st.sampled_from(["owed", "taken_off", "written_off", "given_back"]),
        fee=st.sampled_from([0, 1500]),
    )
    def office_settles_a_chargeback(self, which: int, state: str, fee: int) -> None:
        found = list(Chargeback.objects.order_by("pk"))
        if found:
            before = self._by_card()
            with suppress(Refusal):
                settle_chargeback(
                    found[which % len(found)],
                    state=state,
                    reason="They came.",
                    fee_minor=fee,
                    by=self.world.olive,
                    now=self.now,
                )
            self.received += self._by_card() - before

    @rule(which=WHICH, undo=st.sampled_from([reopen_chargeback, take_chargeback_back]))
    def office_takes_a_chargeback_back(self, which: int, undo: Callable[..., None]) -> None:
        found = list(Chargeback.objects.order_by("pk"))
        if found:
            before = self._by_card()
            with suppress(Refusal):
                undo(found[which % len(found)], reason="Mistyped.", by=self.world.olive, now=self.now)
            self.received += self._by_card() - before

    @rule(which=WHICH)
    def office_takes_a_payout_back(self, which: int) -> None:
        found = list(CardPayout.objects.order_by("pk"))
        if found:
            with suppress(Refusal):
                take_payout_back(found[which % len(found)], reason="Mistyped.", by=self.world.olive, now=self.now)

    @rule(passed_on=st.integers(0, 9000), fee=st.integers(0, 99), shared=st.booleans())
    def provider_passes_on(self, passed_on: int, fee: int, shared: bool) -> None:
        with suppress(Refusal):
            note_card_payout(
                passed_on_minor=passed_on,
                fee_minor=fee,
                shared=shared,
                reason="",
                key=new_secret(),
                by=self.world.olive,
                now=self.now,
            )
