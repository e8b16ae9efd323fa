"""Schools and clubs: enquiry, private walk, quote, acceptance."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from bookings.documents import register_html
from bookings.errors import NotQuoted
from bookings.group_quotes import quote_link
from bookings.letter_facts import Charge, facts_of
from bookings.models import Booking, GroupEnquiry, GroupQuote, OutboxMessage, Place
from bookings.own_calendar import own_calendar
from bookings.queries import balance, statement_of
from bookings.quote_states import quote_state
from bookings.services.ask_for_group import ask_for_group, forget_enquiries
from bookings.services.booking_link import booking_link
from bookings.services.invoicing import due_by_line
from bookings.services.keep_private import keep_private
from bookings.services.move_booking import may_move
from bookings.services.quote_group import accept_quote, decline_quote, quote_group, withdraw_quote
from bookings.services.send_messages import send_next_message
from foraywright.floor.models import AuditLine
from tests.cast import World
from tests.pages import say_yes, words_of
from walks.models import Guide, Offering
from walks.queries import programme, slug_of
from walks.services.publish_walk import publish_walk
from walks.services.schedule_walk import schedule_walk

pytestmark = pytest.mark.database
ASKED = {
    "group": "Nether Wrack School",
    "name": "Tamsin Rook",
    "email": "rook@example.org",
    "phone": "01632 960 500",
    "dates": "an October morning",
    "size": "6",
    "leaders": "2",
    "ages": "9",
    "needs": "",
}


def kept_walk(world: World, *, weeks: int, guides: tuple[Guide, ...]) -> Offering:
    """A walk so many weeks after the cast's, kept for a group and published."""
    day = world.walk.local_date + timedelta(weeks=weeks)
    plan = world.plan(world.session(local_date=day, guides=guides), title="For the school")
    draft = keep_private(schedule_walk(plan, by=world.olive, now=world.now), by=world.olive, now=world.now)
    return publish_walk(draft, by=world.olive, now=world.now)


@pytest.fixture
def private(world: World) -> Offering:
    """A walk a week after the cast's, kept for a group and published."""
    return kept_walk(world, weeks=1, guides=(world.gwen, world.harry))


def make(world: World, offering: Offering, children: int = 6, leaders: int = 2, **changes: object) -> GroupQuote:
    enquiry = GroupEnquiry.objects.first() or ask_for_group(ASKED, by="participant", now=world.now)
    first = {"a_head_minor": 1100, "valid_until": date(2026, 9, 30), "bands": ["9-12"] * children}
    quote = GroupQuote(enquiry=enquiry, offering=offering, leaders=leaders, **(first | changes))
    return quote_group(quote, by=world.olive, now=world.now)


def test_a_private_walk_is_on_no_public_page_and_in_no_feed(world: World, private: Offering, client: Client) -> None:
    slug = slug_of(private.public_id)
    with time_machine.travel(world.now, tick=False):
        assert private not in programme(now=world.now)
        for name in ("walk_page", "book", "join_list", "walk_ics", "walk_handout"):
            assert client.get(reverse(name, args=[slug])).status_code == 404
        assert "For the school" not in client.get(reverse("walks_feed")).text
        assert "The bare wood" in client.get(reverse("walks_feed")).text


def test_what_was_public_is_not_kept_private(world: World) -> None:
    with pytest.raises(NotQuoted):
        keep_private(world.offering, by=world.olive, now=world.now)


def test_accepted_it_is_one_booking_with_one_line_and_leaders_in_charge(world: World, private: Offering) -> None:
    quote = make(world, private)
    booking = accept_quote(quote, by="participant", now=world.now)
    (line,) = booking.lines.all()
    assert (line.label, line.price_minor, line.person) == ("group of 6 with 2 leaders of its own", 6600, None)
    assert (line.vat_basis_points, line.vat_minor) == (2000, 1100)
    assert balance(booking) == 6600
    people = list(booking.party.people.order_by("pk"))
    assert [one.band for one in people] == ["adult"] * 2 + ["9-12"] * 6
    assert [one.is_leader for one in people] == [True] * 2 + [False] * 6
    assert [one.guardian for one in people[2:]] == [people[0], people[1]] * 3
    head_count = statement_of(private.walks.get(), now=world.now).head_count
    assert (head_count.participants, head_count.guardians, sum(head_count.pool)) == (8, 2, 0)
    assert OutboxMessage.objects.get(booking=booking).kind == OutboxMessage.Kind.CONFIRMATION
    assert accept_quote(quote, by="participant", now=world.now) == booking
    assert Booking.objects.count() == 1
    assert not may_move(booking, now=world.now)
    entry = own_calendar(booking).decode()
    assert slug_of(private.public_id) not in entry
    assert "ATTACH" not in entry


def test_its_leaders_are_called_so_wherever_the_group_is_listed(world: World, private: Offering) -> None:
    booking = accept_quote(make(world, private), by="participant", now=world.now)
    page = words_of(Client().get(f"/booking/{booking_link(booking, now=world.now)}/").text)
    assert "1. Leader" in page
    assert "3. Child, 9 to 12" in page
    facts = facts_of(booking, now=world.now)
    assert facts["people"] == ["leader"] * 2 + ["child of 9 to 12"] * 6
    assert facts["charges"] == [Charge("group of 6 with 2 leaders of its own", 1, 6600)]
    assert "leader" in words_of(register_html(private.walks.get(), world.now))
    row = due_by_line(booking)[0]
    assert row.label == "Group of 6 with 2 leaders of its own"


def test_a_newer_quote_says_anew_who_leads(world: World, private: Offering) -> None:
    booking = accept_quote(make(world, private, leaders=3), by="participant", now=world.now)
    accept_quote(make(world, private, leaders=2, bands=["adult", *["9-12"] * 5]), by="participant", now=world.now)
    people = booking.party.people.order_by("pk")
    assert [one.is_leader for one in people if one.band == "adult"] == [True, True, False]


def test_children_beyond_what_their_leaders_may_take_join_the_pool(world: World, private: Offering) -> None:
    many = accept_quote(make(world, private, children=9, leaders=1), by="participant", now=world.now)
    assert sum(statement_of(private.walks.get(), now=world.now).head_count.pool) > 0
    assert many.places.count() == 10


def test_a_flat_price_is_the_price(world: World, private: Offering) -> None:
    booking = accept_quote(make(world, private, a_head_minor=None, flat_minor=15000), by="participant", now=world.now)
    assert balance(booking) == 15000


def test_a_group_that_does_not_fit_is_not_quoted(world: World, private: Offering) -> None:
    with pytest.raises(NotQuoted) as refused:
        make(world, private, children=20)
    assert "permission allows 14 people" in " ".join(refused.value.why)
    assert GroupQuote.objects.count() == 0


def test_neither_an_old_quote_nor_a_replaced_one_is_accepted(world: World, private: Offering) -> None:
    quote = make(world, private)
    late = world.now.replace(month=10, day=1)
    for quoted, now in ((quote, late), (make_older(quote, world, private), world.now)):
        with pytest.raises(NotQuoted):
            accept_quote(quoted, by="participant", now=now)
    assert Place.objects.count() == 0


def test_a_quote_for_another_walk_stands_beside_the_older_one(
    world: World, private: Offering, client: Client, olive: Client, mailoutbox: list
) -> None:
    first = make(world, private)
    GroupQuote.objects.update(made_at=world.now - timedelta(days=1))
    first.refresh_from_db()
    second = make(world, kept_walk(world, weeks=2, guides=(world.gwen, world.harry)))
    assert [quote_state(one, now=world.now) for one in (first, second)] == ["open", "open"]
    there = reverse("quote_page", args=[quote_link(first, now=world.now)])
    with time_machine.travel(world.now, tick=False):
        assert "accept both only if you want both walks" in client.get(there).text
        page = olive.get(reverse("staff_group", args=[first.enquiry.public_id])).text
    assert "one for another walk stands beside it" in page
    while send_next_message(now=world.now):
        pass
    withdraw_quote(first, by=world.olive, now=world.now)
    while send_next_message(now=world.now):
        pass
    assert "We have withdrawn it" in mailoutbox[-1].body
    assert quote_state(second, now=world.now) == "open"


def make_older(quote: GroupQuote, world: World, private: Offering) -> GroupQuote:
    """The quote once another was made after it."""
    GroupQuote.objects.filter(pk=quote.pk).update(made_at=world.now - timedelta(days=1))
    make(world, private, children=5)
    return GroupQuote.objects.select_related("offering", "enquiry").get(pk=quote.pk)


def test_an_enquiry_is_forgotten_after_a_year(world: World) -> None:
    ask_for_group(ASKED, by="participant", now=world.now)
    forget_enquiries(now=world.now + timedelta(days=364))
    assert GroupEnquiry.objects.get().email
    forget_enquiries(now=world.now + timedelta(days=365))
    kept = GroupEnquiry.objects.get()
    assert (kept.name, kept.email, kept.phone) == ("", "", "")


def test_from_the_enquiry_to_the_booking_by_pages(world: World, private: Offering, client: Client) -> None:
    office = Client()
    office.force_login(world.olive)
    with time_machine.travel(world.now, tick=False):
        assert reverse("groups") in client.get(reverse("programme")).text
        assert client.post(reverse("groups"), ASKED | {"email": "x"}).status_code == 422
        assert client.post(reverse("groups"), ASKED).status_code == 302
        assert "Nether Wrack School" in office.get(reverse("staff_groups")).text
        page = reverse("staff_group", args=[GroupEnquiry.objects.get().public_id])
        form = {"offering": str(private.pk), "leaders": "2", "age_9-12": "6", "a_head": "11.00"}
        assert office.post(page, form | {"flat": "90.00", "valid_until": "2026-09-30"}).status_code == 422
        answer = office.post(page, form | {"valid_until": "2026-09-30"}, follow=True)
        assert "The letter with the link goes to rook@example.org" in answer.text
        quote = GroupQuote.objects.get()
        token = quote_link(quote, now=world.now)
        there = reverse("quote_page", args=[token])
        assert "£66.00" in client.get(there).text
        assert client.get(reverse("quote_paper", args=[token])).content[:5] == b"%PDF-"
        assert client.post(there, {}).status_code == 409
        assert Booking.objects.count() == 0
        assert "/booking/" in client.post(there, {"rules": "on"}).url
        assert "Accepted" in client.get(there).text
        assert client.get(reverse("quote_page", args=["forged"])).status_code == 404


def test_a_draft_is_kept_for_a_group_from_its_page(world: World) -> None:
    day = world.walk.local_date + timedelta(days=14)
    draft = schedule_walk(world.plan(world.session(local_date=day)), by=world.olive, now=world.now)
    office = Client()
    office.force_login(world.olive)
    with time_machine.travel(world.now, tick=False):
        address = reverse("staff_private", args=[draft.public_id])
        walk = reverse("staff_walk", args=[draft.public_id])
        assert address in office.get(walk).text
        say_yes(office, address)
        assert "For a group alone" in office.get(walk).text


@pytest.mark.usefixtures("september")
def test_a_group_is_changed_by_a_new_quote_and_its_booking_says_so(
    world: World, private: Offering, olive: Client
) -> None:
    booking = accept_quote(make(world, private), by="participant", now=world.now)
    page = olive.get(reverse("staff_booking", args=[booking.code])).text
    assert reverse("staff_groups") in page
    for name in ("staff_change", "staff_move"):
        assert reverse(name, args=[booking.code]) not in page


def test_a_group_says_no_by_its_link_and_the_office_reads_it_on_today(
    world: World, private: Offering, client: Client, olive: Client
) -> None:
    quote = make(world, private)
    page = reverse("quote_page", args=[quote_link(quote, now=world.now)])
    with time_machine.travel(world.now, tick=False):
        answer = say_yes(client, reverse("quote_decline", args=[page.split("/")[2]]), {})
        assert answer.status_code == 302
        shown = words_of(client.get(page).content)
        assert "you do not want this" in shown
        assert "Accept and book" not in shown
        assert client.post(page, {"rules": "on"}).status_code == 409
        assert "the group does not want our quote" in words_of(olive.get(reverse("staff_today")).content)
        assert "declined by the group" in olive.get(reverse("staff_group", args=[quote.enquiry.public_id])).text
        GroupQuote.objects.update(made_at=world.now - timedelta(days=1))
        make(world, private, children=4)
        assert "does not want our quote" not in words_of(olive.get(reverse("staff_today")).content)
    assert AuditLine.objects.filter(act="decline quote").count() == 1


def test_what_was_accepted_is_not_declined(world: World, private: Offering) -> None:
    quote = make(world, private)
    accept_quote(quote, by="participant", now=world.now)
    with pytest.raises(NotQuoted, match="accepted"):
        decline_quote(quote, by="participant", now=world.now)
