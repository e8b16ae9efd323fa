"""What the law gives beside the terms stands where one books and before one cancels, and nowhere as our invention."""

from __future__ import annotations

import pytest
from django.core import mail
from django.test import Client
from django.urls import reverse

from bookings.group_quotes import quote_facts, quote_link
from bookings.services.book_places import book_places
from bookings.services.booking_link import booking_link
from bookings.services.quote_group import accept_quote
from bookings.services.send_messages import send_next_message
from bookings.statutory import statutory_notes
from curriculum.queries import jurisdictions
from foraywright.floor.ids import new_secret
from foraywright.floor.models import Business
from foraywright.floor.printing import render_document
from tests.bookings.test_groups import make, private
from tests.cast import World
from tests.pages import words_of
from walks.models import Offering
from walks.queries import slug_of

__all__ = ["private"]

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("september")]

CARE = "We must guide with reasonable care and skill."
NO_14_DAYS = "no right to cancel within 14 days"


def test_leisure_on_a_fixed_day_has_no_14_days_and_care_is_owed() -> None:
    """Consumer Contracts Regulations 2013, reg. 28(1)(h); Consumer Rights Act 2015, ss. 49, 54 to 57."""
    for code in ("GB-ENG", "GB-WLS", "GB-SCT", "GB-NIR"):
        withdrawal, care = statutory_notes(code).notes
        assert NO_14_DAYS in withdrawal.says
        assert "reg. 28(1)(h)" in withdrawal.source
        assert care.says.startswith(CARE)
        assert "ss. 49 and 54" in care.source


def test_every_note_says_what_was_read_or_that_it_is_from_memory() -> None:
    laws = [statutory_notes(code) for code in jurisdictions()]
    notes = [note for law in laws for note in (*law.notes, *law.voucher_notes, *law.group_notes)]
    assert notes
    assert all(bool(law.notes) == bool(law.voucher_notes) == bool(law.group_notes) for law in laws)
    assert all("read " in note.source or "from memory" in note.source for note in notes)


def test_they_are_read_before_one_books_and_before_one_cancels(world: World, client: Client) -> None:
    form = words_of(client.get(reverse("book", args=[slug_of(world.offering.public_id)])).content)
    token = booking_link(book_places(world.order(), by="participant", now=world.now), now=world.now)
    cancel = words_of(client.get(reverse("booking_cancel", args=[token])).content)
    for page in (form, cancel):
        assert NO_14_DAYS in page
        assert CARE in page


def test_who_buys_a_voucher_at_a_distance_may_change_their_mind_for_14_days(world: World, client: Client) -> None:
    """Consumer Contracts Regulations 2013, regs. 29, 30; reg. 28(1)(h) is for a fixed day, a voucher has none."""
    before = words_of(client.get(reverse("give_voucher")).content)
    ordered = client.post(reverse("give_voucher"), {"key": new_secret(), "value": "40"}, follow=True)
    assert "A voucher for £40.00" in words_of(ordered.content)
    for page in (before, words_of(ordered.content)):
        assert "Write to us within 14 days of the order, giving no reason" in page
        assert NO_14_DAYS not in page


def test_the_confirmation_says_them_in_both_forms(world: World) -> None:
    book_places(world.order(), by="participant", now=world.now)
    send_next_message(now=world.now)
    (letter,) = mail.outbox
    for text in (letter.body, letter.alternatives[0].content):
        assert CARE in text


def test_a_group_reads_what_holds_whether_or_not_it_is_a_consumer(
    world: World, private: Offering, client: Client, mailoutbox: list, olive: Client
) -> None:
    quote = make(world, private)
    page = client.get(reverse("quote_page", args=[quote_link(quote, now=world.now)]))
    paper = render_document("print/quote.html", quote_facts(quote, now=world.now))
    booking = accept_quote(quote, by="participant", now=world.now)
    cancel = client.get(reverse("booking_cancel", args=[booking_link(booking, now=world.now)]))
    while send_next_message(now=world.now):
        pass
    (letter,) = mailoutbox
    read = [words_of(one) for one in (page.content, paper.encode(), cancel.content)]
    for words in (*read, " ".join(letter.body.split()), words_of(letter.alternatives[0].content.encode())):
        assert "whoever buys" in words
        assert "We do not know which you are" in words
        assert CARE not in words
        assert NO_14_DAYS not in words
    assert "A school or club reads this instead" in olive.get(reverse("staff_refunds")).text


def test_where_we_hold_none_nothing_is_said_and_the_office_is_told(world: World, olive: Client, client: Client) -> None:
    Business.objects.update(jurisdiction="FR")
    form = words_of(client.get(reverse("book", args=[slug_of(world.offering.public_id)])).content)
    assert "14 days" not in form.replace("14 days or more", "")
    page = words_of(olive.get(reverse("staff_refunds")).content)
    assert "We hold no notes for where you trade" in page
    assert "ask a lawyer" in page
