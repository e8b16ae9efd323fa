"""What cannot be undone is done as it was shown, or not at all: asked again under the lock, in the act itself."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from pathlib import Path
from types import ModuleType

import pytest
import time_machine
from bs4 import BeautifulSoup
from django.db import transaction
from django.test import Client
from django.urls import reverse

from bookings import tombstones
from bookings.models import Booking, Contact, Transfer
from bookings.queries import awaiting_choice, paid, unmatched_of
from bookings.seen import asker_mark, contact_mark, party_mark
from bookings.services.book_places import book_places
from bookings.services.booking_link import booking_link
from bookings.services.call_off_walk import call_off_walk, told_of
from bookings.services.cancel_booking import cancel_booking, settlement
from bookings.services.change_contact import NewContact, change_asker, change_contact
from bookings.services.choose_after_call_off import choose_refund, choose_voucher
from bookings.services.erase import erase_enquiry, erase_party
from bookings.services.ledger import transfer
from bookings.services.record_payment import record_payment
from bookings.views import held, personal_data
from curriculum.compute.account import Account, Caveat
from curriculum.compute.account_text import account_text
from curriculum.models import Withdrawal
from curriculum.queries import accounts_in_use
from curriculum.services.load_starter import load_starter
from curriculum.services.revise_account import revise_account
from curriculum.services.withdraw_account import use_mark, withdraw_account
from curriculum.views import reviewer
from foraywright.floor.models import AuditLine
from foraywright.floor.refusals import SeenOtherwise
from tests.bookings.race import Outcome, together
from tests.bookings.test_groups import make, private
from tests.bookings.test_vouchers import called_off
from tests.cast import World
from tests.conftest import NOW
from tests.curriculum.garlic import garlic_files
from tests.pages import signed_in, words_of
from walks.models import Offering

__all__ = ["private"]
pytestmark = pytest.mark.database
OTHER = NewContact("Ned Heron", "heron@example.org", "01632 960 002")


@pytest.fixture(autouse=True)
def _own_tombstones(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr(tombstones, "path", lambda: tmp_path / "erased.jsonl")


def test_money_that_came_in_after_the_look_cancels_nothing(world: World) -> None:
    booking = book_places(world.order(), by="participant", now=world.now)
    seen = settlement(booking, ours=False, now=world.now).mark
    record_payment(booking, into="bank", amount_minor=3600, by=world.olive, now=world.now)
    with pytest.raises(SeenOtherwise, match="Nothing was cancelled"):
        cancel_booking(booking, seen=seen, by="participant", now=world.now)
    assert (Booking.objects.get().state, paid(booking)) == (Booking.State.CONFIRMED, 3600)
    again = settlement(booking, ours=False, now=world.now).mark
    assert cancel_booking(booking, seen=again, by="participant", now=world.now).state == Booking.State.CANCELLED


def test_a_party_that_came_after_the_look_calls_nothing_off(world: World) -> None:
    seen = told_of(world.offering).mark
    booking = book_places(world.order(), by="participant", now=world.now)
    with pytest.raises(SeenOtherwise, match="not called off"):
        call_off_walk(world.offering, why="Storm.", seen=seen, by=world.olive, now=world.now)
    assert Offering.objects.get().state == Offering.State.PUBLISHED
    assert Booking.objects.get(pk=booking.pk).state == Booking.State.CONFIRMED
    assert not booking.messages.filter(kind="called_off").exists()


def test_look_and_press_beside_a_payment_never_cancels_unseen(real_world: World) -> None:
    """Either it was cancelled as shown and the money came after it, for a person; or it came first and all stands."""
    for number in range(8):
        booking = book_places(real_world.order(), by="participant", now=real_world.now)
        seen = settlement(booking, ours=False, now=real_world.now).mark
        cancel = partial(cancel_booking, booking, seen=seen, by="participant", now=real_world.now)
        pay = partial(record_payment, booking, into="bank", amount_minor=3600, by=real_world.olive, now=real_world.now)
        outcomes = both(cancel, pay, number)
        booking.refresh_from_db()
        stands = booking.state == Booking.State.CONFIRMED
        assert stands == (outcomes[0].kind == "refused")
        assert (paid(booking), unmatched_of(booking)) == (3600, 0 if stands else 3600)


def _later(act: Callable[[], object]) -> object:
    """A little after the other, so that both orders are met."""
    time.sleep(0.02)
    return act()


def both(act: Callable[[], object], rival: Callable[[], object], number: int) -> list[Outcome]:
    """At the same moment, now the one and now the other a little later."""
    return together([partial(_later, act), rival] if number % 2 else [act, partial(_later, rival)])


def test_erasing_beside_another_contact_never_erases_whom_nobody_saw(real_world: World) -> None:
    by, now = real_world.olive, real_world.now
    for number in range(8):
        booking = cancel_booking(book_places(real_world.order(), by="participant", now=now), by="participant", now=now)
        erase = partial(erase_party, booking, reason="asked", seen=party_mark(booking), by=by, now=now)
        erased, changed = both(erase, partial(change_contact, booking, OTHER, by=by, now=now), number)
        assert {erased.kind, changed.kind} == {"done", "refused"}, (erased, changed)
        assert Contact.objects.get(pk=booking.party.contact_id).name == ("" if erased.kind == "done" else OTHER.name)


def with_a_caveat_more(account: Account, number: int) -> str:
    added = Caveat(account.caveats[0].kind, f"{number}.")
    return account_text(replace(account, caveats=(*account.caveats, added)))


def test_withdrawing_beside_a_new_version_never_withdraws_what_is_out_of_use(real_world: World, tmp_path: Path) -> None:
    by, now = real_world.rosa, real_world.now
    load_starter(garlic_files(tmp_path), by="command", now=now)
    for number in range(6):
        one = accounts_in_use()["allium-ursinum"]
        text = with_a_caveat_more(one.account, number)
        withdraw = partial(withdraw_account, one.version, reason="wrong", seen=use_mark(one.version), by=by, now=now)
        withdrawn, revised = both(withdraw, partial(revise_account, one.taxon, text, by=by, now=now), number)
        assert revised.kind == "done", revised
        acts = list(AuditLine.objects.order_by("-pk").values_list("act", flat=True)[:2])
        assert acts[0] == "write account" if withdrawn.kind == "done" else withdrawn.kind == "refused"


def test_who_asks_for_a_group_is_erased_or_changed_as_seen_or_not_at_all(world: World, private: Offering) -> None:
    enquiry, by, now = make(world, private).enquiry, world.olive, world.now
    seen = asker_mark(enquiry)
    change_asker(enquiry, OTHER, seen=seen, by=by, now=now)
    with pytest.raises(SeenOtherwise, match="Nothing was erased"):
        erase_enquiry(enquiry, reason="asked", seen=seen, by=by, now=now)
    with pytest.raises(SeenOtherwise, match="not changed"):
        change_asker(enquiry, replace(OTHER, name="Wren"), seen=seen, by=by, now=now)
    enquiry.refresh_from_db()
    assert enquiry.name == OTHER.name
    erase_enquiry(enquiry, reason="asked", seen=asker_mark(enquiry), by=by, now=now)
    enquiry.refresh_from_db()
    assert enquiry.name == ""


def test_a_contact_whom_nobody_saw_is_not_replaced(world: World) -> None:
    booking = book_places(world.order(), by="participant", now=world.now)
    seen = contact_mark(booking.party.contact)
    change_contact(booking, OTHER, seen=seen, by=world.olive, now=world.now)
    with pytest.raises(SeenOtherwise, match="not changed"):
        change_contact(booking, replace(OTHER, name="Wren"), seen=seen, by=world.olive, now=world.now)
    assert Contact.objects.get(pk=booking.party.contact_id).name == OTHER.name


@pytest.mark.parametrize("choose", [choose_refund, choose_voucher])
def test_another_amount_than_was_shown_is_not_chosen(world: World, choose: Callable[..., None]) -> None:
    booking = called_off(world, cash=3600)
    with pytest.raises(SeenOtherwise, match="Places and money stay"):
        choose(booking, seen="1800", by="participant", now=world.now)
    assert awaiting_choice(booking) == 3600
    choose(booking, seen="3600", by="participant", now=world.now)
    assert awaiting_choice(booking) == 0


def mark_at(client: Client, page: str) -> str:
    """The mark of what the page shows now."""
    return str(BeautifulSoup(client.get(page).content, "html.parser").find("input", attrs={"name": "seen"})["value"])


def in_between(monkeypatch: pytest.MonkeyPatch, module: ModuleType, name: str, rival: Callable[[], object]) -> None:
    """Let `rival` act once, after the view looked (by its `name`) and before its act has the lock."""
    look, met = getattr(module, name), list[object]()

    def looked(found: object) -> object:
        shown = look(found)
        if not met:
            met.append(rival())
        return shown

    monkeypatch.setattr(module, name, looked)


@pytest.mark.usefixtures("september")
def test_the_page_of_erasing_shows_who_is_the_contact_now(
    world: World, olive: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    booking = book_places(world.order(), by="participant", now=world.now)
    cancel_booking(booking, by="participant", now=world.now)
    page = reverse("staff_erase", args=[booking.code])
    form = {"reason": "asked", "seen": mark_at(olive, page)}
    change = partial(change_contact, booking, OTHER, by=world.olive, now=world.now)
    in_between(monkeypatch, personal_data, "party_mark", change)
    answer = olive.post(page, form)
    assert answer.status_code == 409
    assert "Look again." in words_of(answer.content)
    assert "Ned Heron, heron@example.org; 2 people" in words_of(answer.content)
    assert Contact.objects.get(pk=booking.party.contact_id).name == "Ned Heron"
    assert olive.post(page, form | {"seen": mark_at(olive, page)}).status_code == 302
    assert Contact.objects.get(pk=booking.party.contact_id).name == ""


@pytest.mark.usefixtures("september")
def test_the_page_of_withdrawing_shows_the_version_that_is_in_use_now(
    world: World, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    load_starter(garlic_files(tmp_path), by="command", now=world.now)
    one, rosa = accounts_in_use()["allium-ursinum"], signed_in(world.rosa)
    page = reverse("staff_withdraw", args=["allium-ursinum"])
    form = {"reason": "wrong", "seen": mark_at(rosa, page)}
    revise = partial(revise_account, one.taxon, with_a_caveat_more(one.account, 1), by=world.rosa, now=world.now)
    in_between(monkeypatch, reviewer, "use_mark", revise)
    for answer in (rosa.post(page, form), rosa.post(page, form)):
        assert answer.status_code == 409
        assert "version 2" in words_of(answer.content)
    assert not Withdrawal.objects.exists()
    assert rosa.post(page, form | {"seen": mark_at(rosa, page)}).status_code == 302
    assert Withdrawal.objects.get().version.number == 2


@time_machine.travel(NOW, tick=False)
def test_a_button_asks_anew_where_another_amount_waits(
    world: World, client: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The amount moves as it would by calling off the walk that the party moved to meanwhile."""
    booking = called_off(world, cash=3600)
    page = reverse("booking_refund", args=[booking_link(booking, now=world.now)])
    seen = BeautifulSoup(client.post(page).content, "html.parser").find("input", attrs={"name": "seen"})["value"]

    def less() -> None:
        with transaction.atomic():
            transfer(
                Transfer.Kind.CREDIT,
                debit="awaiting_choice",
                credit="unmatched",
                amount_minor=1600,
                currency="GBP",
                booking=booking,
                now=world.now,
            )

    in_between(monkeypatch, held, "awaiting_choice", less)
    answer = client.post(page, {"seen": seen})
    assert answer.status_code == 409
    assert "Look again." in words_of(answer.content)
    assert "£20.00 goes back" in words_of(answer.content)
    assert awaiting_choice(booking) == 2000
