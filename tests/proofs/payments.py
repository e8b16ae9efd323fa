"""`python -m tests.proofs.payments NUMBER`: card payments whose notices come 1 to 5 times each, in any order.

A tenth comes after the hold ran out, when others may have the places; one notice in twenty is forged. Afterwards each
payment that was taken stands in the ledger once, every penny has a name, and nothing forged was believed.
"""

from __future__ import annotations

import hashlib
import hmac
import json
import logging
import sys
import time
from collections import Counter
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime, timedelta
from random import Random
from typing import Any

from tests.proofs.setting import set_up

AT_ONCE = 40
LATE, FORGED = 0.1, 0.05
COURSES = (
    ("confirmed",),
    ("input", "confirmed"),
    ("preauth", "confirmed"),
    ("rejected", "confirmed"),
    ("confirmed", "refunded"),
    ("rejected",),
    ("input",),
)
"""What a provider may tell of one payment. A refund on its page waits for a person, and is never written by itself."""


@dataclass(frozen=True, slots=True)
class Notice:
    """One delivery, true or forged."""

    token: str
    body: bytes
    signed: str
    true: bool


class Storm:
    """Some payments of one season that is then taken back; what was found is counted up."""

    def __init__(self, random: Random) -> None:
        self.random = random
        self.counts: Counter[str] = Counter()

    def season(self, payments: int, now: datetime) -> None:
        """Hold places, deliver the notices in time, let the holds run out, deliver the rest, look."""
        import time_machine

        from bookings.services.lapse_holds import lapse_next_hold
        from tests.cast import make_world

        world = make_world(now=now)
        begun = self.hold(world, payments, now)
        late = {one.token for one in begun if self.random.random() < LATE}
        taken = {one.token: self.random.choice(COURSES) for one in begun}
        notices = [(one.token in late, notice) for one in begun for notice in self.notices(one, taken[one.token])]
        self.random.shuffle(notices)
        for after, is_late in ((5, False), (30, True)):
            at = now + timedelta(minutes=after)
            with time_machine.travel(at, tick=False):
                while lapse_next_hold(now=at):
                    pass
                if is_late:
                    self.others_book(world, at)
                self.deliver(one for comes_late, one in notices if comes_late == is_late)
        self.look(begun, {token for token, course in taken.items() if "confirmed" in course}, late)

    def hold(self, world: Any, payments: int, now: datetime) -> list[Any]:
        from bookings.errors import NotBooked
        from bookings.services.hold_places import hold_places
        from bookings.services.start_card_payment import start_card_payment
        from foraywright.floor.models import Business
        from tests.cast import WALK_DAY
        from walks.services.publish_walk import publish_walk
        from walks.services.schedule_walk import schedule_walk

        Business.objects.update(is_demonstration=True)
        self.offerings, begun = [world.offering], []
        while len(begun) < payments:
            order = world.order(*self.random.choice([("adult",), ("adult", "4-8")]), offering=self.offerings[-1])
            try:
                held = hold_places(order, by="participant", now=now)
                begun.append(start_card_payment(held, by="participant", now=now))
            except NotBooked:
                day = WALK_DAY + timedelta(days=7 * len(self.offerings))
                session = world.session(local_date=day, guides=(world.gwen, world.harry))
                plan = world.plan(session, title=f"Walk {len(self.offerings)}")
                draft = schedule_walk(plan, by=world.olive, now=now)
                self.offerings.append(publish_walk(draft, by=world.olive, now=now))
        return begun

    def notices(self, payment: Any, course: tuple[str, ...]) -> list[Notice]:
        """Each true notice one to five times, now and then a forged one that says paid."""
        from django.conf import settings

        secret = settings.PAYMENT_VARIANTS["card"][1]["secret"].encode()
        made = []
        for status in course:
            captured = payment.asked_minor if status == "confirmed" else 0
            told = {"id": f"e-{status}", "payment": payment.token, "status": status, "captured": captured}
            body = json.dumps(told).encode()
            true = Notice(payment.token, body, hmac.new(secret, body, hashlib.sha256).hexdigest(), true=True)
            made += [true] * self.random.randint(1, 5)
        for number in range(len(made)):
            if self.random.random() < FORGED:
                told = {"id": f"f-{number}", "payment": payment.token, "status": "confirmed", "captured": 10**6}
                signed = self.random.choice([made[0].signed, "0" * 64, ""])
                made.append(Notice(payment.token, json.dumps(told).encode(), signed, true=False))
        return made

    def deliver(self, notices: Any) -> None:
        from django.test import Client

        for one in notices:
            answer = Client().post(
                f"/card/{one.token}/notice/",
                one.body,
                content_type="application/json",
                headers={"Signature": one.signed},
            )
            self.counts["true notices" if one.true else "forged notices"] += 1
            assert answer.status_code == (200 if one.true else 400), (answer.status_code, one)

    def others_book(self, world: Any, now: datetime) -> None:
        """Some of the places that lapsed are taken by somebody else before the late money comes."""
        from bookings.errors import NotBooked
        from bookings.services.book_places import book_places

        for offering in self.offerings:
            for _ in range(self.random.randint(0, 4)):
                with suppress(NotBooked):
                    book_places(world.order("adult", offering=offering), by="participant", now=now)

    def look(self, begun: list[Any], taken: set[str], late: set[str]) -> None:
        from bookings.models import Booking, CardNotice, Transfer
        from bookings.queries import balance, coming_back
        from tests.bookings.books import Books

        books = Books()
        sums = books.accounts
        assert sum(sums.values()) == 0
        assert sums["card"] == sum(one.asked_minor for one in begun if one.token in taken)
        owed = ("refunds_due", "deferred_income", "vat", "unmatched")
        assert sums["card"] + sums["receivable"] == -sum(sums[one] for one in owed)
        for payment in begun:
            booking = Booking.objects.get(pk=payment.booking_id)
            entries = list(Transfer.objects.filter(booking=booking, debit__key="card"))
            where = "late" if payment.token in late else "in time"
            if payment.token not in taken:
                assert (entries, booking.state) == ([], "lapsed")
                self.counts[f"{where}, never taken: the places went back"] += 1
                continue
            assert [one.amount_minor for one in entries] == [payment.asked_minor]
            assert booking.state == "confirmed" or payment.token in late, booking.state
            if booking.state == "confirmed":
                assert (balance(booking), coming_back(booking)) == (0, 0)
                self.counts[f"{where}: the party comes"] += 1
            else:
                assert (booking.state, coming_back(booking)) == ("waiting", payment.asked_minor)
                self.counts[f"{where}: waits again, all of it promised back"] += 1
        assert not CardNotice.objects.filter(event__contains=":f-").exists()
        self.counts["payments"] += len(begun)


def main(payments: int) -> None:
    """Storm after storm until that many payments were told of."""
    set_up()
    logging.getLogger("django.request").setLevel(logging.ERROR)  # each refused notice would be a line
    from tests.bookings.books import rolled_back
    from tests.conftest import NOW

    storm, begun = Storm(Random(payments)), time.monotonic()
    while storm.counts["payments"] < payments:
        with rolled_back():
            storm.season(min(AT_ONCE, payments - storm.counts["payments"]), NOW)
        if storm.counts["payments"] % 1000 < AT_ONCE:
            print(dict(storm.counts), flush=True)
    print(f"PASS: {dict(storm.counts)}, {time.monotonic() - begun:.0f} s")


if __name__ == "__main__":
    main(int(sys.argv[1]))
