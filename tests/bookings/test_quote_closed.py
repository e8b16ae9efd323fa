"""The letter that a quote can no longer be accepted: to whom it goes, and to whom it does not."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta

import pytest
import time_machine
from django.core import mail
from django.test import Client
from django.urls import reverse

from bookings.models import GroupQuote, OutboxMessage
from bookings.services.call_off_walk import call_off_walk
from bookings.services.quote_group import accept_quote, decline_quote, withdraw_quote
from bookings.services.send_messages import send_next_message
from bookings.services.tell_of_lapsed_quotes import TOLD_WITHIN, tell_of_lapsed_quotes
from foraywright.floor.leases import claim
from tests.bookings.test_groups import make, private
from tests.bookings.test_quote_letters import link_in
from tests.bookings.test_requoted_groups import again
from tests.cast import World
from tests.pages import words_of
from walks.models import Offering

__all__ = ["private"]
pytestmark = [pytest.mark.database, pytest.mark.usefixtures("september")]
RAN_OUT = timedelta(days=17)
"""From the cast's moment to the day after the quotes' last."""


def send_all(world: World, after: timedelta = timedelta()) -> None:
    while send_next_message(now=world.now + after):
        pass


def why_not(quote: GroupQuote) -> str:
    return OutboxMessage.objects.get(quote=quote, kind="quote_closed").not_needed


@pytest.mark.parametrize("fate", ["withdrawn", "called off", "ran out"])
def test_a_group_that_had_the_quote_is_told_once(
    world: World, private: Offering, client: Client, mailoutbox: list[mail.EmailMultiAlternatives], fate: str
) -> None:
    quote, after = make(world, private), timedelta()
    send_all(world)
    match fate:
        case "withdrawn":
            withdraw_quote(quote, by=world.olive, now=world.now)
        case "called off":
            call_off_walk(private, why="storm", by=world.olive, now=world.now)
        case "ran out":
            after = RAN_OUT
            assert [tell_of_lapsed_quotes(now=world.now + after) for _ in range(2)] == [1, 0]
    send_all(world, after)
    (_, letter) = mailoutbox
    assert letter.to == ["rook@example.org"]
    says = {"withdrawn": "We have withdrawn it", "called off": "does not take place", "ran out": "until Wednesday 30"}
    for words in ("Nether Wrack School", says[fate], "cannot be accepted any more", "Nothing was booked"):
        assert words in " ".join(letter.body.split())
        assert words in words_of(letter.alternatives[0][0].encode())
    with time_machine.travel(world.now + after, tick=False):
        assert client.get(link_in(letter.body)).status_code == 200


def test_before_a_walk_is_called_off_the_office_reads_who_is_told(
    world: World, private: Offering, olive: Client
) -> None:
    quote, page = make(world, private), reverse("staff_call_off", args=[private.public_id])
    assert "a group whose quote could still be accepted will be told by letter" in olive.get(page).text
    assert "on the programme" not in words_of(olive.get(page).content)
    accept_quote(quote, by="participant", now=world.now)
    assert "1 party will be told" in olive.get(page).text


def test_what_is_booked_stays_and_letter_and_page_say_so(
    world: World, private: Offering, client: Client, mailoutbox: list
) -> None:
    accept_quote(make(world, private), by="participant", now=world.now)
    newer = again(world, private, 4)
    send_all(world)
    withdraw_quote(newer, by=world.olive, now=world.now)
    send_all(world)
    assert "What you have booked stays as it is" in " ".join(mailoutbox[-1].body.split())
    with time_machine.travel(world.now, tick=False):
        page = words_of(client.get(link_in(mailoutbox[-1].body)).content)
    assert "What is booked stays as it was." in page
    assert "Nothing is booked" not in page


def test_a_group_that_has_booked_is_told_of_the_walk_and_not_of_its_newer_quote(
    world: World, private: Offering, mailoutbox: list
) -> None:
    accept_quote(make(world, private), by="participant", now=world.now)
    again(world, private, 4)
    send_all(world)
    call_off_walk(private, why="storm", by=world.olive, now=world.now)
    assert [one.kind for one in OutboxMessage.objects.filter(done_at=None)] == ["called_off"]


def test_who_never_had_the_quote_is_told_nothing(world: World, private: Offering, mailoutbox: list) -> None:
    quote = make(world, private)
    withdraw_quote(quote, by=world.olive, now=world.now)
    send_all(world)
    assert mailoutbox == []
    assert why_not(quote) == "They had not got the quote."


def test_a_quote_that_was_being_sent_may_have_arrived(world: World, private: Offering, mailoutbox: list) -> None:
    quote = make(world, private)
    assert claim(OutboxMessage, now=world.now)
    withdraw_quote(quote, by=world.olive, now=world.now)
    send_all(world)
    assert "We have withdrawn it" in mailoutbox[-1].body


def test_a_newer_quote_that_went_out_says_it(world: World, private: Offering, mailoutbox: list) -> None:
    quote = make(world, private)
    send_all(world)
    withdraw_quote(quote, by=world.olive, now=world.now)
    OutboxMessage.objects.filter(kind="quote_closed").update(due_at=world.now + timedelta(minutes=1))
    again(world, private, 5)
    send_all(world)
    send_all(world, timedelta(minutes=1))
    assert len(mailoutbox) == 2
    assert why_not(quote) == "There is a newer quote for this group and walk."


def test_a_newer_one_that_was_withdrawn_before_it_went_out_closes_the_older(
    world: World, private: Offering, mailoutbox: list
) -> None:
    make(world, private)
    send_all(world)
    newer = again(world, private, 5)
    withdraw_quote(newer, by=world.olive, now=world.now)
    send_all(world)
    assert len(mailoutbox) == 2
    assert "We have withdrawn it" in mailoutbox[-1].body


def lapsed(world: World, private: Offering, quote: GroupQuote) -> None:
    """Nothing has happened to it."""


def booked(world: World, private: Offering, quote: GroupQuote) -> None:
    accept_quote(quote, by="participant", now=world.now)


def replaced(world: World, private: Offering, quote: GroupQuote) -> None:
    again(world, private, 5, valid_until=date(2026, 10, 5))


@pytest.mark.parametrize(
    ("fate", "after"),
    [
        (lapsed, RAN_OUT - timedelta(days=1)),
        (lapsed, RAN_OUT + TOLD_WITHIN),
        (booked, RAN_OUT),
        (replaced, RAN_OUT),
    ],
)
def test_nobody_is_told_of_a_quote_that_holds_was_answered_or_is_long_gone(
    world: World, private: Offering, fate: Callable[[World, Offering, GroupQuote], None], after: timedelta
) -> None:
    fate(world, private, make(world, private))
    assert tell_of_lapsed_quotes(now=world.now + after) == 0


def test_who_declined_is_told_nothing_more(world: World, private: Offering) -> None:
    quote = make(world, private)
    decline_quote(quote, by="participant", now=world.now)
    assert tell_of_lapsed_quotes(now=world.now + RAN_OUT) == 0
    call_off_walk(private, why="storm", by=world.olive, now=world.now)
    assert not OutboxMessage.objects.filter(quote=quote, kind="quote_closed").exists()
