"""What is personal can be handed out whole, is erased when its time is over or somebody asks, and stays erased."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date, datetime, timedelta
from io import StringIO
from pathlib import Path

import pytest
from bs4 import BeautifulSoup
from django.apps import apps
from django.contrib.sessions.models import Session
from django.core.management import call_command
from django.db import connection, models
from django.test import Client
from django.test.utils import CaptureQueriesContext

from bookings import tombstones
from bookings.compute.retention import Limitation, evidence_until, health_until
from bookings.errors import NotErased
from bookings.management.commands.work import forget_sessions
from bookings.models import AccessNeed, Booking, Contact, Declaration, KeptLonger, Look, Person, SaidBy
from bookings.retention import RULES, longest_onset, overdue_names
from bookings.seen import party_mark
from bookings.services.access_needs import ask_for_access
from bookings.services.book_places import book_places
from bookings.services.booking_link import booking_link
from bookings.services.cancel_booking import cancel_booking
from bookings.services.erase import erase_party, forget_words
from bookings.services.lapse_holds import lapse_next_hold
from foraywright.floor.models import AuditLine
from foraywright.floor.sealed import SealedField
from tests.bookings.erasing import erase_next_overdue
from tests.bookings.test_declarations import TOLD, told
from tests.cast import World
from tests.conftest import NOW
from tests.pages import signed_in, words_of

pytestmark = [pytest.mark.database, pytest.mark.usefixtures("september")]
CANARIES = (
    "Zarah Kanarek",
    "zarah@kanarek.example",
    "01632 960 777",
    "Yuri Kanarek",
    "hazelnuts make the throat swell",
)
LAW = Limitation(contract=6, injury=3, of_age=18, source="the statute")


@pytest.fixture(autouse=True)
def _own_tombstones(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr(tombstones, "path", lambda: tmp_path / "erased.jsonl")


@pytest.fixture
def booking(world: World) -> Booking:
    order = world.order("adult", "4-8", name=CANARIES[0], email=CANARIES[1], phone=CANARIES[2], names=(CANARIES[3],))
    made = book_places(order, by="participant", now=NOW)
    told(made.party.people.get(band="adult"))
    ask_for_access(made, "no loose gravel", by="participant", now=NOW)
    return made


def everybody(booking: Booking) -> dict[str, object]:
    """The marks by which who booked asks for all of the party."""
    return {"booked": "on", "people": [one.public_id for one in booking.party.people.all()]}


def in_the_database() -> str:
    """Every value of every table, as text."""
    found = []
    with connection.cursor() as cursor:
        for table in connection.introspection.table_names():
            cursor.execute(f'SELECT * FROM "{table}"')
            found += [str(row) for row in cursor.fetchall()]
    return "\n".join(found)


def after(world: World, **delta: float) -> datetime:
    return world.walk.ends_at + timedelta(**delta)


@pytest.mark.parametrize(
    ("age", "until"),
    [(18, date(2032, 10, 3)), (17, date(2032, 10, 3)), (9, date(2038, 10, 3)), (None, date(2047, 10, 3))],
)
def test_evidence_is_kept_as_long_as_a_claim_can_be_brought(age: int | None, until: date) -> None:
    assert evidence_until(date(2026, 10, 3), age, LAW) == until


def test_nothing_is_erased_a_day_early_for_a_leap_day() -> None:
    assert evidence_until(date(2028, 2, 29), 18, LAW) == date(2034, 3, 1)


def test_answers_outlive_the_longest_onset() -> None:
    end = NOW + timedelta(days=1)
    assert health_until(end, timedelta(days=20)) - end == timedelta(days=34)


def test_after_the_walk_answers_stay_until_nobody_can_fall_ill_of_it_any_more(world: World, booking: Booking) -> None:
    margin = longest_onset() + timedelta(days=14)
    assert not erase_next_overdue(now=world.walk.ends_at + margin - timedelta(seconds=1))
    assert erase_next_overdue(now=world.walk.ends_at + margin)
    assert not Declaration.objects.exists()
    assert not AccessNeed.objects.exists()
    assert Person.objects.get(name=CANARIES[3]).party.contact.name == CANARIES[0]
    assert not erase_next_overdue(now=world.walk.ends_at + margin)


def test_of_a_booking_that_ended_answers_go_at_once(booking: Booking) -> None:
    cancel_booking(booking, by="participant", now=NOW)
    assert erase_next_overdue(now=NOW)
    assert not Declaration.objects.exists()


def test_of_a_hold_that_lapsed_answers_go_at_once(booking: Booking) -> None:
    Booking.objects.update(state="held", hold_kind="checkout", held_until=NOW)
    assert not erase_next_overdue(now=NOW)
    assert lapse_next_hold(now=NOW) == booking
    assert erase_next_overdue(now=NOW)
    assert not Declaration.objects.exists()
    assert not AccessNeed.objects.exists()


def test_names_go_when_the_last_claim_of_a_child_is_barred(world: World, booking: Booking) -> None:
    end = after(world, days=60)
    assert erase_next_overdue(now=end)
    assert not erase_next_overdue(now=end.replace(year=2042))
    assert erase_next_overdue(now=end.replace(year=2043))
    assert not erase_next_overdue(now=end.replace(year=2043))
    assert CANARIES[0] not in in_the_database()


def queries_of_the_worker(now: datetime) -> int:
    with CaptureQueriesContext(connection) as ran:
        assert not erase_next_overdue(now=now)
    return len(ran)


def test_more_bookings_whose_names_stay_cost_no_more_queries(world: World, booking: Booking) -> None:
    later = after(world, days=60).replace(year=2034)
    while erase_next_overdue(now=later):
        pass
    one = queries_of_the_worker(later)
    for number in range(2):
        order = world.order("adult", "4-8", email=f"{number}@kanarek.example")
        book_places(order, by="participant", now=NOW)
    assert overdue_names(now=later).count() == 3
    assert queries_of_the_worker(later) == one


def test_an_incident_holds_what_would_be_erased(world: World, booking: Booking) -> None:
    until = after(world, days=400).date()
    KeptLonger.objects.create(booking=booking, reason="a claim", until=until, by=world.olive, at=NOW)
    assert not erase_next_overdue(now=after(world, days=200))
    with pytest.raises(NotErased, match="a claim"):
        erase_party(booking, reason="asked", by=world.olive, now=after(world, days=200))
    assert erase_next_overdue(now=after(world, days=402))


def test_a_booking_with_a_walk_to_come_is_not_erased(world: World, booking: Booking) -> None:
    with pytest.raises(NotErased, match="still to come"):
        erase_party(booking, reason="asked", by=world.olive, now=NOW)
    assert Contact.objects.filter(name=CANARIES[0]).exists()


def test_once_erased_nothing_of_it_is_left_in_any_table(world: World, booking: Booking) -> None:
    link = booking_link(booking, now=NOW)
    assert all(one in in_the_database() for one in CANARIES[:4])
    cancel_booking(booking, by="participant", now=NOW)
    erase_party(booking, reason="asked by letter", by=world.olive, now=NOW)
    assert [one for one in CANARIES if one in in_the_database()] == []
    assert Client().get(f"/booking/{link}/").status_code == 410
    assert booking.transfers.exists()
    assert AuditLine.objects.get(act="erase personal data").why == "asked by letter"


def test_a_restored_backup_is_erased_again(world: World, booking: Booking) -> None:
    contact = booking.party.contact
    cancel_booking(booking, by="participant", now=NOW)
    erase_party(booking, reason="asked", by=world.olive, now=NOW)
    Contact.objects.filter(pk=contact.pk).update(name=CANARIES[0], erased_at=None)
    assert list(tombstones.tombstones()) == [contact.public_id]
    said = StringIO()
    call_command("erase_again", stdout=said)
    call_command("erase_again", stdout=said)
    assert [line.split()[0] for line in said.getvalue().splitlines()] == ["1", "0"]
    assert CANARIES[0] not in in_the_database()


def test_the_export_holds_all_of_it_and_is_a_look(world: World, booking: Booking) -> None:
    client = Client()
    client.force_login(world.olive)
    address = f"/staff/bookings/{booking.code}/data/"
    assert CANARIES[4] not in client.get(address).content.decode()
    found = client.post(f"{address}export/", everybody(booking))
    assert [
        one for one in (*CANARIES, "no loose gravel", TOLD.emergency_phone) if one not in found.content.decode()
    ] == []
    assert json.loads(found.content)["booking"]["code"] == booking.code
    page = client.post(f"{address}export/", everybody(booking) | {"form": "page"}).content.decode()
    assert [one for one in CANARIES if one not in page] == []
    assert {one.what for one in Look.objects.all()} == {"export"}


def test_each_is_handed_their_own_and_a_child_s_goes_to_its_guardian_alone(world: World, olive: Client) -> None:
    order = world.order("adult", "adult", "4-8", names=("Pat Canary", "Sam Canary", "Pip Canary"))
    booking = book_places(order, by="participant", now=NOW)
    pat, sam, pip = booking.party.people.order_by("pk")
    for person, words in ((pat, "hazelnuts"), (sam, "epilepsy"), (pip, "wasps")):
        said_by = SaidBy.GUARDIAN if person == pip else SaidBy.SELF
        told(person, replace(TOLD, allergies=words), said_by)
    looks = Look.objects.filter(what="export")
    address = f"/staff/bookings/{booking.code}/data/export/"
    assert "Say who asks" in olive.post(address, {"form": "file"}, follow=True).text
    assert not looks.exists()
    for sent, given in (
        ({"people": [sam.public_id]}, {"epilepsy"}),
        ({"people": [pat.public_id, pip.public_id], "booked": "on"}, {"hazelnuts", "wasps", "pat@example.org"}),
        ({"booked": "on"}, {"pat@example.org"}),
    ):
        found = olive.post(address, sent | {"form": "file"}).text
        assert {one for one in ("hazelnuts", "epilepsy", "wasps", "pat@example.org") if one in found} == given
    assert list(looks.values_list("person_id_of", flat=True).order_by("pk")) == [
        one.public_id for one in (sam, pat, pip)
    ]


def test_why_somebody_was_erased_is_forgotten_once_no_claim_can_come_and_the_line_stays(
    world: World, booking: Booking
) -> None:
    line = AuditLine.objects.filter(act="erase personal data").select_related("words")
    cancel_booking(booking, by="participant", now=NOW)
    erase_party(booking, reason="Mrs Canary rang", by=world.olive, now=NOW)
    assert (line.get().reason, line.get().why) == ("", "Mrs Canary rang")
    over = NOW + timedelta(days=6 * 366)
    held = booking.kept_longer.create(reason="a claim", until=over.date(), by=world.olive, at=NOW)
    forget_words(now=over)
    held.delete()
    forget_words(now=over - timedelta(seconds=1))
    assert line.get().why == "Mrs Canary rang"
    forget_words(now=over)
    assert line.get().why == "(what was written of why is erased)"


def test_the_export_on_paper_reads_as_words(world: World, booking: Booking) -> None:
    sent = everybody(booking) | {"form": "page"}
    page = signed_in(world.olive).post(f"/staff/bookings/{booking.code}/data/export/", sent)
    read = BeautifulSoup(page.content, "html.parser").get_text("\n", strip=True)
    assert "Monday 14 September 2026, 10:00" in read  # Made, by the house's clock
    assert "days: Saturday 3 October 2026" in read
    assert f"name: {CANARIES[3]}\nage: adult\ndeclared: allergies: {CANARIES[4]}" in read
    assert f"age: 4-8\nin the charge of: {CANARIES[3]}" in read
    assert "declared: nothing" not in read


def test_before_the_walk_the_page_says_that_nothing_is_erased_yet(world: World, booking: Booking) -> None:
    page = signed_in(world.olive).get(f"/staff/bookings/{booking.code}/data/erase/")
    assert "The walk is still to come. Cancel the booking first" in words_of(page.content)
    assert b'name="reason"' not in page.content


def test_it_is_erased_by_a_page_that_says_first_what_goes(world: World, booking: Booking) -> None:
    cancel_booking(booking, by="participant", now=NOW)
    client = Client()
    client.force_login(world.olive)
    address = f"/staff/bookings/{booking.code}/data/erase/"
    assert "cannot be taken back" in client.get(address).content.decode()
    seen = party_mark(booking)
    assert client.post(address, {"reason": " ", "seen": seen}).status_code == 422
    assert Contact.objects.filter(name=CANARIES[0]).exists()
    after = client.post(address, {"reason": "by phone, 14 September", "seen": seen}, follow=True)
    assert "Contact erased on 14 September 2026 Booked" in words_of(after.content)
    assert not Contact.objects.filter(name=CANARIES[0]).exists()


def test_every_sealed_field_and_every_field_of_people_has_its_rule() -> None:
    ruled = {field for rule in RULES for field in rule.fields}
    people = {"Contact.name", "Contact.folded", "Contact.email", "Contact.phone", "Contact.address", "Person.name"}
    sealed = {
        f"{model.__name__}.{field.name}"
        for model in apps.get_models()
        for field in model._meta.get_fields()
        if isinstance(field, SealedField)
        or (isinstance(field, models.EmailField) and model._meta.app_label in {"curriculum", "walks", "bookings"})
    }
    assert (sealed | people) - ruled == set()
    assert {one.split(".")[0] for one in ruled} <= {model.__name__ for model in apps.get_models()}


def test_the_privacy_page_says_of_everything_how_long_it_is_kept(world: World) -> None:
    words = words_of(Client().get("/privacy/").content)
    for rule in RULES:
        assert f"{rule.title} {rule.kept} {rule.why}" in words


def test_a_participant_gets_no_cookie_but_the_two_that_the_privacy_page_names(booking: Booking) -> None:
    link, client = booking_link(booking, now=NOW), Client()
    client.get(f"/booking/{link}/")
    answer = client.post(f"/booking/{link}/voucher/", {"voucher": "K7M4QXR"})
    assert set(answer.cookies) | set(client.cookies) == {"csrftoken", "sessionid"}
    assert "no voucher of ours" in client.get(f"/booking/{link}/").content.decode()


def test_the_worker_forgets_sessions_that_are_over(booking: Booking) -> None:
    Client().post(f"/booking/{booking_link(booking, now=NOW)}/voucher/", {"voucher": "K7M4QXR"})
    forget_sessions(now=NOW + timedelta(hours=11))
    assert Session.objects.count() == 1
    forget_sessions(now=NOW + timedelta(hours=13))
    assert not Session.objects.exists()
