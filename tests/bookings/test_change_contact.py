"""Another contact of a booking: who is written to from then on, and what the old one can no longer open."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse

from bookings.compute.delivery_reports import Failure
from bookings.errors import NotChanged
from bookings.models import Booking, Contact, GroupEnquiry, OutboxMessage
from bookings.needs.people import letters
from bookings.services.book_places import book_places
from bookings.services.booking_link import booking_link
from bookings.services.cancel_booking import cancel_booking
from bookings.services.change_contact import NewContact, change_asker, change_contact
from bookings.services.erase import erase_party
from bookings.services.join_waiting_list import join_waiting_list
from bookings.services.note_bounce import note_bounce
from bookings.services.quote_group import accept_quote
from bookings.services.send_messages import send_next_message
from bookings.services.settle_message import retry_message
from foraywright.floor.leases import LEASE, claim
from foraywright.floor.models import AuditLine, LinkSecret
from tests.bookings.test_groups import make, private
from tests.cast import World
from walks.models import Offering

__all__ = ["private"]
pytestmark = [pytest.mark.database, pytest.mark.usefixtures("september")]
NEW = NewContact("Ned Heron", "heron@example.org", "01632 960 002")


@pytest.fixture
def waiting(world: World) -> Booking:
    """A party on the waiting list of a walk that another has filled."""
    book_places(world.order(*["adult"] * 12), by="participant", now=world.now)
    return join_waiting_list(world.order("adult", "4-8"), by="participant", now=world.now)


def send_all(world: World) -> None:
    while send_next_message(now=world.now):
        pass


def test_of_a_waiting_booking_letters_go_to_the_new_contact_by_a_new_link(
    world: World, waiting: Booking, client: Client, mailoutbox: list
) -> None:
    send_all(world)
    old = reverse("booking_page", args=[booking_link(waiting, now=world.now)])
    before = waiting.version
    change_contact(waiting, NEW, by=world.olive, now=world.now)
    assert client.get(old).status_code == 410
    send_all(world)
    (letter,) = [one for one in mailoutbox if one.to == ["heron@example.org"]]
    found = re.search(r"https://walks\.example\.org(/booking/[^/\s]+/)\n", letter.body)
    assert found
    assert client.get(found[1]).status_code == 200
    waiting.refresh_from_db()
    assert (waiting.state, waiting.version) == ("waiting", before + 1)
    assert waiting.waiting.joined_at == world.now
    line = AuditLine.objects.get(act="change contact")
    assert (line.object_id, line.fields) == (waiting.public_id, ["name", "email", "phone"])
    assert "heron" not in str(line.__dict__)


def test_a_letter_that_waited_goes_to_the_new_address_alone(world: World, waiting: Booking, mailoutbox: list) -> None:
    change_contact(waiting, NEW, by=world.olive, now=world.now)
    send_all(world)
    theirs = [one.to for one in mailoutbox if one.to != ["pat@example.org"]]
    assert theirs == [["heron@example.org"]] * 2


def former_letters(mailoutbox: list) -> list:
    return [one for one in mailoutbox if "no longer write to this address" in one.subject]


def test_the_old_address_is_told_without_a_link_or_a_word_of_the_new_contact(
    world: World, waiting: Booking, mailoutbox: list
) -> None:
    links = LinkSecret.objects.filter(scope=waiting.public_id, revoked_at=None)
    change_contact(waiting, NEW, by=world.olive, now=world.now)
    send_all(world)
    (told,) = former_letters(mailoutbox)
    assert told.to == ["pat@example.org"]
    for text in (told.body, told.alternatives[0][0]):
        assert "tell us at once" in text
        assert not any(word in text for word in ("heron", "Heron", "960 002", "http", waiting.code))
    assert links.count() == 2, "one each for the two letters to the new address"
    assert not OutboxMessage.objects.filter(former_address__isnull=False).exists()
    line = OutboxMessage.objects.get(kind="former_contact")
    assert "no longer write" in (line.as_sent or "")


def test_a_name_alone_or_a_change_that_was_taken_back_tells_no_former_address(
    world: World, waiting: Booking, mailoutbox: list
) -> None:
    change_contact(waiting, NewContact("Ned", "pat@example.org", ""), by=world.olive, now=world.now)
    assert not OutboxMessage.objects.filter(kind="former_contact").exists()
    change_contact(waiting, NEW, by=world.olive, now=world.now)
    change_contact(waiting, NewContact("Ned", "pat@example.org", ""), by=world.olive, now=world.now)
    send_all(world)
    assert [one.to for one in former_letters(mailoutbox)] == [["heron@example.org"]]


def test_what_came_back_from_the_old_address_never_goes_to_the_new_one(
    world: World, waiting: Booking, olive: Client, mailoutbox: list
) -> None:
    change_contact(waiting, NEW, by=world.olive, now=world.now)
    send_all(world)
    message = OutboxMessage.objects.get(kind="former_contact")
    note_bounce(Failure(message.message_id, "5.1.1"), by="command", now=world.now)
    page = olive.get(reverse("staff_message", args=[message.public_id])).text
    assert "nobody to tell" in page
    assert "elephone" not in page
    assert "heron" not in page
    assert [one.words for one in letters(world.now)] == [
        "A letter (to the former contact) came back. Look whether anybody is to be told, then say so."
    ]
    retry_message(message, by=world.olive, now=world.now)
    sent = len(mailoutbox)
    send_all(world)
    message.refresh_from_db()
    assert (len(mailoutbox), message.not_needed) == (sent, "The former address is no longer kept.")


def test_an_asker_before_is_told_too_where_a_quote_went_there(
    world: World, private: Offering, mailoutbox: list
) -> None:
    quote = make(world, private)
    send_all(world)
    change_asker(quote.enquiry, NEW, by=world.olive, now=world.now)
    send_all(world)
    (told,) = former_letters(mailoutbox)
    assert told.to == ["rook@example.org"]
    assert "http" not in told.body


def test_links_for_people_of_the_party_are_shut_too(world: World, client: Client) -> None:
    booking = book_places(world.order(), by="participant", now=world.now)
    page = reverse("booking_page", args=[booking_link(booking, now=world.now)])
    person = booking.party.people.latest("pk")
    own = client.post(f"{page}declarations/{person.public_id}/link/")
    found = re.search(r"/declare/[^/\s\"<]+/", own.text)
    assert found
    assert client.get(found[0]).status_code == 200
    change_contact(booking, NEW, by=world.olive, now=world.now)
    assert client.get(found[0]).status_code == 410


def test_not_while_a_letter_is_being_sent_to_the_old_address(world: World, waiting: Booking) -> None:
    OutboxMessage.objects.exclude(booking=waiting).update(done_at=world.now)
    assert claim(OutboxMessage, now=world.now)
    with pytest.raises(NotChanged, match="is being sent"):
        change_contact(waiting, NEW, by=world.olive, now=world.now)
    change_contact(waiting, NEW, by=world.olive, now=world.now + LEASE)
    assert Contact.objects.filter(email="heron@example.org").count() == 1


def test_neither_what_is_there_already_nor_what_was_erased(world: World, waiting: Booking) -> None:
    same = NewContact("Pat Partridge", "pat@example.org", "01632 960 001")
    with pytest.raises(NotChanged, match="what we have already"):
        change_contact(waiting, same, by=world.olive, now=world.now)
    cancel_booking(waiting, by="participant", now=world.now)
    erase_party(waiting, reason="asked", by=world.olive, now=world.now)
    with pytest.raises(NotChanged, match="were erased"):
        change_contact(waiting, NEW, by=world.olive, now=world.now)
    assert not Contact.objects.filter(email="heron@example.org").exists()


def test_without_an_e_mail_address_letters_go_by_post(world: World, waiting: Booking) -> None:
    change_contact(waiting, NewContact("Ned Heron", "", "", "1 Reed Lane"), by=world.olive, now=world.now)
    send_all(world)
    assert OutboxMessage.objects.filter(booking=waiting, paper__isnull=False).count() == 2


def test_of_a_group_the_enquiry_follows(world: World, private: Offering) -> None:
    booking = accept_quote(make(world, private), by="participant", now=world.now)
    change_contact(booking, NEW, by=world.olive, now=world.now)
    assert GroupEnquiry.objects.get().email == "heron@example.org"


def test_the_page_asks_once_and_shows_what_somebody_else_changed(world: World, waiting: Booking, olive: Client) -> None:
    page = reverse("staff_contact", args=[waiting.code])
    assert page in olive.get(reverse("staff_booking", args=[waiting.code])).text
    shown = olive.get(page).text
    assert "Every link that was sent before stops working" in shown
    seen = re.search(r'name="seen" value="(\w+)"', shown)
    assert seen
    form = {"seen": seen[1], "name": "Ned Heron", "email": "", "address": "", "phone": ""}
    assert olive.post(page, form).status_code == 422
    assert olive.post(page, form | {"email": "heron@example.org", "seen": "another"}).status_code == 409
    change_contact(waiting, NEW, by=world.olive, now=world.now - timedelta(minutes=1))
    assert olive.post(page, form | {"email": "wren@example.org"}).status_code == 409
    assert Contact.objects.filter(email="heron@example.org").count() == 1
