"""The office writes letters anew: what it may change, what is refused with nothing lost, what always stays."""

from __future__ import annotations

import pytest
from django.db import DatabaseError, connection, transaction
from django.test import Client

from bookings.compute.letter_words import Words
from bookings.letter_sample import sample_context
from bookings.letter_texts import EXPLAINED, our_words, placeholders_of
from bookings.letters import composed, letter
from bookings.models import LetterText, OutboxMessage
from bookings.services.book_places import book_places
from bookings.services.call_off_walk import call_off_walk
from bookings.services.save_letter_text import reasons_in, save_letter_text
from foraywright.floor.models import Business
from tests.cast import World

Kind = OutboxMessage.Kind
PLAIN = Words("A subject", "A text.")


@pytest.mark.parametrize("kind", Kind.values)
def test_our_own_words_pass_and_every_page_shows_the_letter(world: World, olive: Client, kind: str) -> None:
    assert reasons_in(kind, our_words(kind)) == []
    assert set(placeholders_of(kind)) <= set(EXPLAINED)
    answer = olive.get(f"/staff/letters/words/{kind}/")
    assert answer.status_code == 200
    assert "How it would look" in answer.content.decode()


STAYS = [
    (Kind.CALLED_OFF, "Please do not come."),
    (Kind.RECALL, "Do not use it any more."),
    (Kind.RECALL, "call the emergency number"),
    (Kind.CONFIRMATION, "no licence to eat what you find alone"),
    (Kind.JOINING, "no licence to eat what you find alone"),
    (Kind.HANDOUT_READY, "no licence to eat what you find alone"),
    (Kind.WALK_CHANGED, "you may leave free of charge"),
    (Kind.DECLARATION, "never send it by e-mail"),
    (Kind.SHORT_OF_ADULTS, "children cannot go along"),
]


@pytest.mark.parametrize(("kind", "words"), STAYS)
def test_what_is_said_for_safety_stays_whatever_the_office_writes(world: World, kind: str, words: str) -> None:
    _, text, html = composed(kind, sample_context(Business.objects.get(), now=world.now), PLAIN)
    assert words.lower() in text.lower()
    assert words.lower() in html.lower()


@pytest.mark.parametrize("kind", sorted(set(Kind.values) - {Kind.FORMER_CONTACT}))
def test_the_way_to_the_booking_stays(world: World, kind: str) -> None:
    _, text, html = composed(kind, sample_context(Business.objects.get(), now=world.now), PLAIN)
    way = "/quote/…/" if kind in (Kind.QUOTE, Kind.QUOTE_CLOSED) else "/booking/…/"
    assert way in text
    assert way in html


def test_new_words_are_sent_and_the_old_can_come_back(world: World, olive: Client) -> None:
    booking = book_places(world.order(), by="participant", now=world.now)
    message = OutboxMessage.objects.get(booking=booking)
    address = "/staff/letters/words/confirmation/"
    olive.post(address, {"subject": "Welcome: {walk_title}", "body": "Hello from **{business}**.", "keep": ""})
    mail = letter(message, now=world.now)
    assert mail.subject == "Welcome: The bare wood"
    assert f"Hello from {Business.objects.get().name}." in mail.body
    assert "<strong>" in mail.alternatives[0][0]
    olive.post(f"{address}ours/")
    assert letter(message, now=world.now).subject.startswith("Your places are booked")
    assert [one.number for one in LetterText.objects.order_by("number")] == [1, 2]


@pytest.mark.database
@pytest.mark.parametrize("sql", ["UPDATE bookings_lettertext SET body = 'Other'", "DELETE FROM bookings_lettertext"])
def test_a_version_is_never_rewritten(world: World, sql: str) -> None:
    kept = save_letter_text(Kind.CONFIRMATION, PLAIN, by=world.olive, now=world.now)
    refused = pytest.raises(DatabaseError, match="Versions of the words of letters are never")
    with refused, transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(sql)
    kept.refresh_from_db()
    assert kept.body == PLAIN.body


def test_looking_keeps_nothing(world: World, olive: Client) -> None:
    words = {"subject": "Another", "body": "Some other text.", "look": ""}
    page = olive.post("/staff/letters/words/confirmation/", words).content.decode()
    assert "Some other text." in page
    assert not LetterText.objects.exists()


def test_an_unknown_placeholder_is_refused_and_nothing_typed_is_lost(world: World, olive: Client) -> None:
    words = {"subject": "For {people}", "body": "Dear {nobody}, {{ 7|add:7 }}", "keep": ""}
    answer = olive.post("/staff/letters/words/confirmation/", words)
    page = answer.content.decode()
    assert answer.status_code == 422
    assert "“{people}” in the subject is no placeholder of this letter." in page
    assert "“{nobody}” in the text is no placeholder of this letter." in page
    assert "Dear {nobody}, {{ 7|add:7 }}" in page
    assert not LetterText.objects.exists()


def test_what_looks_like_a_template_is_never_run(world: World) -> None:
    save_letter_text(Kind.CALLED_OFF, Words("x", "50 % off and <b>x</b>: {reason}"), by=world.olive, now=world.now)
    booking = book_places(world.order(), by="participant", now=world.now)
    call_off_walk(world.offering, why="{{ business }} {business}", by=world.olive, now=world.now)
    mail = letter(OutboxMessage.objects.get(booking=booking, kind=Kind.CALLED_OFF), now=world.now)
    assert "and &lt;b&gt;x&lt;/b&gt;: {{ business }} {business}." in mail.alternatives[0][0]


def test_no_such_letter(world: World, olive: Client) -> None:
    assert olive.get("/staff/letters/words/nothing/").status_code == 404
