"""What people declare is kept sealed, never shown back, opened by few, and every look is written down."""

from __future__ import annotations

from datetime import timedelta

import pytest
import time_machine
from bs4 import BeautifulSoup
from django.db import connection
from django.test import Client

from bookings.errors import NotDeclared, NotShown
from bookings.ground_rules import rules_in_force
from bookings.letters import letter
from bookings.letters_still_true import no_longer_true
from bookings.models import AccessNeed, Booking, Declaration, Look, Person, RulesAccepted, SaidBy
from bookings.services.access_needs import answer_access, ask_for_access
from bookings.services.book_places import book_places
from bookings.services.booking_link import booking_link
from bookings.services.cancel_booking import cancel_booking
from bookings.services.declare import Answers, declare
from bookings.services.look_at_declarations import look_at_declaration
from foraywright.floor.models import AuditLine, PolicyVersion
from tests.cast import World
from tests.conftest import NOW
from tests.pages import signed_in, words_of

pytestmark = [pytest.mark.database, pytest.mark.usefixtures("september")]
CANARY = "hazelnuts make the throat swell"
TYPED = {
    "allergies": CANARY,
    "emergency_name": "Noor Canary",
    "emergency_phone": "01632 960 200",
    "photos": "no",
    "rules": "on",
    "rules_read": "1",
}
TOLD = Answers(CANARY, "", "a pen, left pocket", "", "Noor Canary", "01632 960 200", "partner", photos=False)


@pytest.fixture
def booking(world: World) -> Booking:
    return book_places(world.order("adult", "4-8", names=("Mo Martin", "Pip")), by="participant", now=world.now)


@pytest.fixture
def adult(booking: Booking) -> Person:
    return booking.party.people.get(band="adult")


@pytest.fixture
def child(booking: Booking) -> Person:
    return booking.party.people.get(band="4-8")


@pytest.fixture
def page(booking: Booking) -> str:
    return f"/booking/{booking_link(booking, now=NOW)}/declarations/"


def told(person: Person, answers: Answers = TOLD, said_by: SaidBy = SaidBy.CONTACT) -> Declaration:
    return declare(person, answers, said_by=said_by, rules=rules_in_force(), by="participant", now=NOW)


def test_it_is_kept_sealed(adult: Person) -> None:
    told(adult)
    with connection.cursor() as cursor:
        cursor.execute("SELECT * FROM bookings_declaration")
        raw = str(cursor.fetchall())
    assert not any(words in raw for words in ("hazelnuts", "Canary", "960 200", "partner", "pocket"))
    kept = Declaration.objects.get()
    assert (kept.allergies, kept.conditions, kept.emergency_name) == (CANARY, "", "Noor Canary")


def test_given_anew_it_takes_the_place_of_the_last_and_the_rules_are_accepted_again(adult: Person) -> None:
    told(adult)
    told(adult, Answers("", "", "", "", "Noor", "1", "", photos=True))
    assert [one.allergies for one in Declaration.objects.all()] == [""]
    assert RulesAccepted.objects.filter(person=adult).count() == 2


def test_nothing_of_it_is_in_the_audit(adult: Person) -> None:
    told(adult)
    assert "hazelnuts" not in str(list(AuditLine.objects.values()))


def test_of_an_ended_booking_nothing_is_kept(adult: Person, booking: Booking) -> None:
    cancel_booking(booking, by="participant", now=NOW)
    with pytest.raises(NotDeclared, match="Nothing of what you wrote was kept"):
        told(adult)
    assert not Declaration.objects.exists()


@pytest.mark.parametrize("said_by", sorted(set(SaidBy) - {SaidBy.GUARDIAN}))
def test_of_a_child_nobody_speaks_but_its_guardian(child: Person, said_by: SaidBy) -> None:
    with pytest.raises(NotDeclared, match="from a parent or guardian"):
        told(child, said_by=said_by)


def test_by_the_bookings_link_it_is_taken_and_never_shown_back(client: Client, page: str, adult: Person) -> None:
    address = f"{page}{adult.public_id}/"
    assert client.post(address, TYPED | {"speaks": "self"}).status_code == 302
    assert (Declaration.objects.get().allergies, Declaration.objects.get().said_by) == (CANARY, "self")
    for again in (client.get(address), client.get(page)):
        text = again.content.decode()
        assert "hazelnuts" not in text
        assert "Canary" not in text
        assert again["Cache-Control"] == "no-store"


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"allergies": ""}, "Write what the guide should know, or set this mark if there is nothing."),
        ({"nothing": "on"}, "You wrote something and said there is nothing."),
        ({"emergency_phone": ""}, "Write the number at which they can be reached on the day."),
        ({"photos": ""}, "Say whether you may be seen in pictures of the walk."),
        ({"rules": ""}, "Set this mark if you accept the ground rules"),
        ({"rules_read": "0"}, "The ground rules have changed since this page was made."),
        ({"speaks": ""}, "Say whether you write this for yourself or for somebody else."),
        ({"allergies": "x" * 601}, "At most 600 characters here."),
    ],
)
def test_what_is_missing_is_said_and_nothing_typed_is_lost(
    client: Client, page: str, adult: Person, changes: dict[str, str], sentence: str
) -> None:
    sent = TYPED | {"speaks": "contact", "emergency_name": "Noor O’Canary"} | changes
    answer = client.post(f"{page}{adult.public_id}/", sent)
    assert answer.status_code == 422
    text = BeautifulSoup(answer.content, "html.parser")
    assert sentence in text.get_text(" ")
    assert text.find("input", {"name": "emergency_name"})["value"] == "Noor O’Canary"
    assert not Declaration.objects.exists()


def test_nothing_to_declare_is_an_answer(client: Client, page: str, adult: Person) -> None:
    sent = TYPED | {"speaks": "self", "allergies": "", "nothing": "on"}
    assert client.post(f"{page}{adult.public_id}/", sent).status_code == 302
    assert Declaration.objects.get().allergies == ""


def test_a_childs_is_taken_from_a_guardian_only(client: Client, page: str, child: Person) -> None:
    address = f"{page}{child.public_id}/"
    assert client.post(address, TYPED).status_code == 422
    assert client.post(address, TYPED | {"guardian": "on"}).status_code == 302
    assert Declaration.objects.get().said_by == "guardian"


def own_address(client: Client, page: str, person: Person) -> str:
    made = client.post(f"{page}{person.public_id}/link/")
    return str(BeautifulSoup(made.content, "html.parser").find("code").get_text()).removeprefix("http://testserver")


def test_an_adult_declares_by_a_link_of_their_own_and_for_the_child_in_their_charge(
    client: Client, page: str, adult: Person, child: Person
) -> None:
    own = own_address(client, page, adult)
    assert client.post(own, TYPED).status_code == 302
    assert client.post(f"{own}{child.public_id}/", TYPED | {"guardian": "on"}).status_code == 302
    assert set(Declaration.objects.values_list("person__band", "said_by")) == {("adult", "self"), ("4-8", "guardian")}


def test_that_link_opens_nothing_else(client: Client, page: str, adult: Person, world: World) -> None:
    own = own_address(client, page, adult)
    stranger = book_places(world.order("adult", key="k" * 24), by="participant", now=NOW).party.people.get()
    assert client.get(f"{own}{stranger.public_id}/").status_code == 404
    assert client.get(f"/booking/{own.split('/')[2]}/").status_code == 404
    assert client.post(f"{page}{stranger.public_id}/", TYPED).status_code == 404


def test_for_a_child_no_link_is_made(client: Client, page: str, child: Person) -> None:
    assert client.post(f"{page}{child.public_id}/link/").status_code == 404


def staff_pages(world: World) -> str:
    return f"/staff/walks/{world.offering.public_id}/1/declarations/"


def test_the_office_opens_one_and_the_look_is_written_down(world: World, adult: Person) -> None:
    told(adult)
    office, pages = signed_in(world.olive), staff_pages(world)
    listed = office.get(pages).content.decode()
    assert "Heard: 1 of 2" in listed
    assert "hazelnuts" not in listed
    assert not Look.objects.exists()
    assert "hazelnuts" in office.get(f"{pages}{adult.public_id}/").content.decode()
    look = Look.objects.get()
    assert (look.who, look.person_id_of, look.walk_id_of) == (world.olive, adult.public_id, world.walk.public_id)


@pytest.mark.parametrize(("days", "opens"), [(-8, False), (-6, True), (0, True), (2, False)])
def test_a_guide_of_the_walk_sees_it_in_the_days_around_it(world: World, adult: Person, days: int, opens: bool) -> None:
    told(adult)
    when = world.walk.starts_at + timedelta(days=days)
    if opens:
        assert look_at_declaration(adult, world.walk, by=world.gwen.user, office=False, now=when).allergies == CANARY
    else:
        with pytest.raises(NotShown, match="seven days before"):
            look_at_declaration(adult, world.walk, by=world.gwen.user, office=False, now=when)
    assert Look.objects.count() == int(opens)


def test_a_guide_taken_off_the_walk_sees_no_more_of_it(world: World, adult: Person) -> None:
    told(adult)
    address = f"{staff_pages(world)}{adult.public_id}/"
    with time_machine.travel(world.walk.starts_at, tick=False):
        guide = signed_in(world.harry.user)
        assert "hazelnuts" in guide.get(address).content.decode()
        world.walk.walk_guides.filter(guide=world.harry).delete()
        assert guide.get(address).status_code == 403


def test_somebody_of_another_walk_is_not_shown(world: World) -> None:
    assert signed_in(world.olive).get(f"{staff_pages(world)}nobody/").status_code == 404


def test_an_access_need_is_answered_by_a_named_person(
    client: Client, world: World, booking: Booking, page: str
) -> None:
    client.post(page, {"need": "no loose gravel"})
    need = AccessNeed.objects.get()
    assert "Nobody has answered yet" in client.get(page).content.decode()
    office = signed_in(world.olive)
    assert "no loose gravel" not in office.get("/staff/access/").content.decode()
    assert "no loose gravel" in office.get(f"/staff/access/{need.public_id}/").content.decode()
    office.post(f"/staff/access/{need.public_id}/", {"answer": "We bring a folding stool."})
    shown = client.get(page).content.decode()
    assert "We bring a folding stool." in shown
    assert str(world.olive) in shown
    assert "no loose gravel" not in shown
    assert {one.what for one in Look.objects.all()} == {"access"}


def test_an_answer_given_later_replaces_the_first(world: World, booking: Booking) -> None:
    need = ask_for_access(booking, "no stiles", by="participant", now=NOW)
    answer_access(need, "We do not know yet.", by=world.olive, now=NOW)
    answer_access(need, "There are none.", by=world.rosa, now=NOW)
    need.refresh_from_db()
    assert (need.answer, need.answered_by) == ("There are none.", world.rosa)


def test_a_letter_says_that_it_was_answered_and_never_what(world: World, booking: Booking) -> None:
    need = ask_for_access(booking, "no loose gravel", by="participant", now=NOW)
    answer_access(need, "We do not know yet.", by=world.olive, now=NOW)
    answer_access(need, "We bring a folding stool.", by=world.olive, now=NOW)
    first, second = booking.messages.filter(kind="access").order_by("version")
    assert no_longer_true(first, now=NOW) == "A later letter says it."
    assert no_longer_true(second, now=NOW) == ""
    mail = letter(second, now=NOW)
    assert "Your question is answered" in mail.subject
    assert "/declarations/" in mail.body
    assert not {"gravel", "stool"} & set(words_of(f"{mail.body} {mail.alternatives[0][0]}".encode()).split())
    need.delete()
    assert no_longer_true(second, now=NOW) == "The answer was erased."


def test_the_guides_read_need_and_answer_in_their_days_and_every_look_is_kept(world: World, booking: Booking) -> None:
    need = ask_for_access(booking, "no loose gravel", by="participant", now=NOW)
    answer_access(need, "Harry brings a folding stool.", by=world.olive, now=NOW)
    address = f"{staff_pages(world)}access/{booking.code}/"
    with time_machine.travel(world.walk.starts_at - timedelta(days=8), tick=False):
        early = words_of(signed_in(world.harry.user).get(address, follow=True).content)
        assert "Guides see what was declared from seven days before" in early
        assert "gravel" not in early
    with time_machine.travel(world.walk.starts_at, tick=False):
        guide = signed_in(world.harry.user)
        assert address in guide.get(staff_pages(world)).text
        assert not Look.objects.exists()
        read = words_of(guide.get(address).content)
        assert "no loose gravel" in read
        assert "Harry brings a folding stool." in read
    look = Look.objects.get()
    assert (look.what, look.who, look.walk_id_of) == ("access", world.harry.user, world.walk.public_id)


def test_new_rules_are_a_new_version_and_what_was_accepted_keeps_its_own(adult: Person) -> None:
    told(adult)
    kind = PolicyVersion.Kind.GROUND_RULES
    PolicyVersion.objects.create(kind=kind, number=2, body={"rules": ["New."]}, source="ours", since=NOW)
    assert rules_in_force().number == 2
    assert {one.rules.number for one in RulesAccepted.objects.all()} == {1}


def test_with_the_person_what_they_declared_is_erased(adult: Person, child: Person) -> None:
    told(adult)
    child.guardian = None
    child.save()
    adult.delete()
    assert not Declaration.objects.exists()
    assert {one.person for one in RulesAccepted.objects.all()} == {None}


def test_whoever_books_accepts_the_rules_for_the_party_in_the_version_that_was_read(
    world: World, booking: Booking
) -> None:
    accepted = RulesAccepted.objects.get()
    assert (accepted.booking, accepted.rules.number, accepted.said_by) == (booking, 1, "contact")
    by_phone = book_places(world.order("adult", key="p" * 24), by=world.olive, now=NOW)
    assert by_phone.rules_accepted.get().said_by == "office"
