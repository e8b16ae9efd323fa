"""Walk-ups: sold like any place, refused over a limit with signal, written down with what was broken without it."""

from __future__ import annotations

from base64 import b64decode, b64encode
from datetime import timedelta
from functools import partial
from uuid import UUID, uuid4

import pytest
import time_machine
from bs4 import BeautifulSoup
from cryptography.hazmat.primitives.asymmetric import padding
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.serialization import load_der_public_key

from bookings.attendance import attendees
from bookings.compute.device_seal import new_private_key, opened, public_half
from bookings.errors import NotBooked, WalkUpNotSettled
from bookings.ground_rules import rules_in_force
from bookings.models import (
    AttendanceMark,
    Booking,
    Declaration,
    OutboxMessage,
    PaperLetter,
    Place,
    RegisterCopy,
    RulesAccepted,
    Transfer,
    WalkUp,
)
from bookings.person_export import export_of, may_be_handed
from bookings.queries import balance, credited, due
from bookings.services.add_walk_up import CameUnbooked, add_walk_up
from bookings.services.book_places import book_places
from bookings.services.call_off_walk import call_off_walk
from bookings.services.erase import erase_party
from bookings.services.mark_attendance import Tick, mark_attendance
from bookings.services.record_payment import record_payment
from bookings.services.send_messages import send_next_message
from bookings.services.settle_walk_up import settle_walk_up
from bookings.services.take_income import take_next_income
from bookings.services.take_register import take_register
from tests.bookings.erasing import erase_next_overdue
from tests.bookings.race import together
from tests.bookings.test_places_races import another, fail_at_every_statement
from tests.cast import World
from tests.pages import signed_in, words_of
from walks.models import Walk


def came(world: World, *bands: str, event: UUID | None = None, **changes: object) -> CameUnbooked:
    """Two adults who stand at the meeting point ten minutes before the start and pay in cash."""
    order = world.order(*bands, name="Wilma Wren", email="", names=("Wilma Wren", "Wim Wren"))
    values = {
        "event": event or uuid4(),
        "order": order,
        "came_at": world.walk.starts_at - timedelta(minutes=10),
        "pays": "cash",
        "heard": "nothing",
        "rules": rules_in_force(),
        "ring": ("Robin Wren", "01632 960 003", "sister"),
    }
    return CameUnbooked(**(values | changes))  # type: ignore[arg-type]


def add(world: World, *bands: str, copy: RegisterCopy | None = None, **changes: object) -> WalkUp:
    now = world.walk.starts_at - timedelta(minutes=5)
    return add_walk_up(world.walk, came(world, *bands, **changes), by=world.gwen.user, now=now, copy=copy)


def copy_of(world: World) -> RegisterCopy:
    return take_register(world.walk, by=world.gwen.user, now=world.walk.starts_at - timedelta(hours=1)).copy


def test_it_is_a_booking_like_any_with_who_is_here_already(world: World) -> None:
    walk_up = add(world, "adult", "4-8")
    booking = walk_up.booking
    assert [one.name for one in attendees(world.walk)] == ["Wilma Wren", "Wim Wren"]
    assert [one.standing for one in attendees(world.walk)] == ["present", "present"]
    assert (due(booking), balance(booking)) == (2700, 0)
    assert {one.debit.key for one in booking.transfers.filter(kind=Transfer.Kind.PAYMENT)} == {"cash"}
    assert [one.said_by for one in Declaration.objects.order_by("person")] == ["contact", "guardian"]
    assert RulesAccepted.objects.filter(booking=booking, person=None).get().rules == rules_in_force()
    assert booking.callers_consent.heard_by == world.gwen.user
    assert Walk.objects.get(pk=world.walk.pk).places_taken_shown == 2
    assert walk_up.against == []


@pytest.mark.parametrize(("heard", "declared"), [("nothing", 2), ("told", 0), ("refused", 0)])
def test_what_is_told_or_kept_back_is_no_declaration(world: World, heard: str, declared: int) -> None:
    walk_up = add(world, heard=heard)
    assert Declaration.objects.count() == declared
    assert WalkUp.objects.get(pk=walk_up.pk).heard == heard


def test_nobody_declares_for_a_child_without_its_guardian(world: World) -> None:
    add(world, "13-17")
    assert not Declaration.objects.exists()


def test_later_leaves_a_debt_with_its_day_and_a_letter_only_where_it_can_arrive(world: World) -> None:
    booking = add(world, pays="later").booking
    assert balance(booking) == 3600
    assert booking.pay_by == world.walk.local_date + timedelta(days=7)
    assert not OutboxMessage.objects.exists()
    order = came(world).order
    writes = add(world, order=world.order("adult", email="wren@example.org", names=order.names))
    assert {one.kind for one in writes.booking.messages.all()} >= {"confirmation"}


def test_who_left_a_number_alone_is_posted_nothing_but_a_recall(world: World) -> None:
    booking = add(world, pays="later").booking
    record_payment(booking, into="bank", amount_minor=3600, by=world.olive, now=world.walk.ends_at)
    send_next_message(now=world.walk.ends_at)
    assert OutboxMessage.objects.get().not_needed == "No address was left to write to."
    assert not PaperLetter.objects.exists()


def test_over_a_limit_it_is_refused_with_what_would_fit(world: World) -> None:
    book_places(world.order(*["adult"] * 11), by="participant", now=world.now)
    with pytest.raises(NotBooked) as refused:
        add(world)
    assert refused.value.would_fit == 1
    assert "15 are coming; that is 1 too many" in refused.value.sentence
    assert not WalkUp.objects.exists()


def test_the_place_of_who_did_not_come_is_free_and_of_who_is_awaited_is_not(world: World) -> None:
    full = book_places(world.order(*["adult"] * 12), by="participant", now=world.now)
    with pytest.raises(NotBooked):
        add(world, "adult")
    first = full.party.people.earliest("pk").public_id
    seen = world.walk.starts_at - timedelta(minutes=15)
    mark_attendance(world.walk, [Tick(uuid4(), first, "absent", seen)], by=world.olive, now=seen)
    assert add(world, "adult").against == []
    with pytest.raises(NotBooked):
        add(world, "adult")


def test_without_signal_it_is_written_down_with_what_it_broke(world: World) -> None:
    book_places(world.order(*["adult"] * 11), by="participant", now=world.now)
    copy = copy_of(world)
    walk_up = add(world, copy=copy)
    assert walk_up.against == [
        "The landowner's permission allows 14 people, staff included; 15 are coming; that is 1 too many."
    ]
    assert Place.objects.filter(walk=world.walk, given_back_at=None).count() == 13
    assert {one.copy for one in AttendanceMark.objects.all()} == {copy}


def test_a_strange_time_is_a_reason_and_the_future_is_not_taken(world: World) -> None:
    early = world.walk.starts_at - timedelta(hours=3)
    with pytest.raises(NotBooked, match="two hours before"):
        add(world, came_at=early)
    assert "two hours before" in add(world, came_at=early, copy=copy_of(world)).against[0]
    with pytest.raises(NotBooked, match="future"):
        add(world, came_at=world.walk.starts_at + timedelta(hours=1), copy=copy_of(world))


def test_of_a_walk_called_off_nothing_is_written(world: World) -> None:
    copy = copy_of(world)
    call_off_walk(world.offering, why="Storm.", by=world.olive, now=world.now)
    with pytest.raises(NotBooked, match="called off"):
        add(world, copy=copy)


def test_the_same_event_again_is_the_same_party(world: World) -> None:
    event = uuid4()
    first = add(world, event=event)
    assert add(world, event=event, pays="later") == first
    assert Booking.objects.count() == 1
    assert balance(first.booking) == 0


def test_a_late_one_earns_what_the_walk_has_earned(world: World) -> None:
    copy = copy_of(world)
    over = world.walk.ends_at + timedelta(hours=1)
    assert take_next_income(now=over) is not None
    late = add_walk_up(world.walk, came(world), by=world.gwen.user, now=over, copy=copy)
    assert (credited(late.booking, "deferred_income"), credited(late.booking, "income")) == (0, 3000)
    assert credited(late.booking, "vat") == 600


def test_who_looks_says_what_follows_and_only_once(world: World) -> None:
    book_places(world.order(*["adult"] * 11), by="participant", now=world.now)
    walk_up = add(world, copy=copy_of(world))
    settle = partial(settle_walk_up, walk_up, by=world.olive, now=world.walk.ends_at)
    with pytest.raises(WalkUpNotSettled):
        settle("  ")
    settle("Told the guide; the landowner knows.")
    with pytest.raises(WalkUpNotSettled):
        settle("Again.")
    walk_up.refresh_from_db()
    assert (walk_up.answer, walk_up.looked_by) == ("Told the guide; the landowner knows.", world.olive)
    assert len(walk_up.against) == 1


def where(world: World) -> str:
    return f"/staff/walks/{world.offering.public_id}/1/day/walk-ups/"


def filled(page: bytes, **changes: str) -> dict[str, str]:
    """The form of the page as somebody fills it in for two adults."""
    form = BeautifulSoup(page, "html.parser").select_one("form:has([name=pays])")
    hidden = {one["name"]: one["value"] for one in form.select("input[type=hidden]")}
    said = {"adults": "2", "names": "Wilma Wren\nWim Wren", "name": "Wilma Wren", "phone": "01632 960 004"}
    more = {"guardian": "on", "rules": "on", "pays": "cash", "heard": "told"}
    return hidden | said | more | changes


def test_the_guide_adds_them_on_the_page_and_twice_is_once(world: World) -> None:
    client = signed_in(world.gwen.user)
    with time_machine.travel(world.walk.starts_at, tick=False):
        page = client.get(where(world)).content
        assert "£18.00 each" in words_of(page)
        sent = filled(page)
        answer = client.post(where(world), sent, follow=True)
        assert "Added and marked as here: 2 people, paid in full." in words_of(answer.content)
        client.post(where(world), sent)
    assert WalkUp.objects.count() == 1


def test_after_the_walk_the_printed_register_is_entered_and_nothing_refused(world: World) -> None:
    book_places(world.order(*["adult"] * 11), by="participant", now=world.now)
    client = signed_in(world.gwen.user)
    with time_machine.travel(world.walk.ends_at + timedelta(hours=2), tick=False):
        page = client.get(where(world)).content
        assert "enter here who stands on the printed register" in words_of(page)
        client.post(where(world), filled(page))
        assert "after the walk" in words_of(client.get(where(world)).content)
    walk_up = WalkUp.objects.get()
    assert (walk_up.came_at, len(walk_up.against), balance(walk_up.booking)) == (world.walk.starts_at, 1, 0)


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"names": "Wilma Wren"}, "You wrote 1 of 2 names."),
        ({"phone": ""}, "at which they can be reached"),
        ({"heard": "nothing"}, "ask whom to ring in an emergency"),
        ({"heard": ""}, "Ask them, and say how they answered."),
        ({"pays": ""}, "Say how they pay."),
        ({"adults": "13", "names": "\n".join("abcdefghijklm")}, "12 of them would fit."),
    ],
)
def test_what_is_missing_is_asked_and_nothing_typed_is_lost(world: World, wrong: dict[str, str], said: str) -> None:
    client = signed_in(world.gwen.user)
    with time_machine.travel(world.walk.starts_at, tick=False):
        answer = client.post(where(world), filled(client.get(where(world)).content, **wrong))
    assert answer.status_code == 422
    assert said in words_of(answer.content)
    assert "Wilma Wren" in answer.content.decode()
    assert not WalkUp.objects.exists()


def test_a_broken_limit_waits_for_the_office_on_its_front_page_and_on_the_walk(world: World) -> None:
    book_places(world.order(*["adult"] * 11), by="participant", now=world.now)
    add(world, copy=copy_of(world))
    office, now = signed_in(world.olive), world.walk.ends_at
    walk_page = f"/staff/walks/{world.offering.public_id}/"
    with time_machine.travel(now, tick=False):
        assert "a party was taken on over a limit" in words_of(office.get("/staff/").content)
        assert "Nobody has looked at it yet." in words_of(office.get(walk_page).content)
        form = BeautifulSoup(office.get(where(world)).content, "html.parser").select_one("form[action$='/looked/']")
        assert signed_in(world.gwen.user).post(form["action"], {"answer": "mine"}).status_code == 403
        assert "Write what follows" in words_of(office.post(form["action"], {"answer": " "}, follow=True).content)
        office.post(form["action"], {"answer": "The landowner was told."})
        assert "a party was taken on" not in words_of(office.get("/staff/").content)
        page = words_of(office.get(walk_page).content)
    assert "15 are coming; that is 1 too many" in page
    assert "The landowner was told." in page


def test_what_is_told_with_signal_is_written_down_sealed_once_and_of_a_child_by_its_guardian(world: World) -> None:
    walk_up, client = add(world, "adult", "4-8", heard="told"), signed_in(world.gwen.user)
    adult, child = walk_up.booking.party.people.order_by("pk")
    page = f"/staff/walks/{world.offering.public_id}/1/day/register/"
    said = {"conditions": "asthma", "emergency_name": "Robin", "emergency_phone": "01632 960 003", "photos": "no"}
    said |= {"rules": "on", "rules_read": "1"}
    with time_machine.travel(world.walk.starts_at, tick=False):
        assert "Write down what they tell" in words_of(client.get(page).content)
        client.post(f"{page}{adult.public_id}/declare/", said)
        refused = client.post(f"{page}{child.public_id}/declare/", said)
        client.post(f"{page}{child.public_id}/declare/", said | {"guardian": "on"})
        again = client.post(f"{page}{adult.public_id}/declare/", said | {"conditions": "none"}, follow=True)
    assert refused.status_code == 422
    assert "They have declared already." in words_of(again.content)
    assert [(one.said_by, one.conditions) for one in Declaration.objects.order_by("person")] == [
        ("guide", "asthma"),
        ("guardian", "asthma"),
    ]


def test_whoever_asks_is_told_all_and_erased_whole_but_what_was_broken(world: World) -> None:
    book_places(world.order(*["adult"] * 11), by="participant", now=world.now)
    walk_up, after = add(world, copy=copy_of(world), heard="refused"), world.walk.ends_at + timedelta(days=1)
    settle_walk_up(walk_up, "Wilma was told.", by=world.olive, now=after)
    told = str(export_of(walk_up.booking, may_be_handed(walk_up.booking), booked=True, by=world.olive, now=after))
    assert all(words in told for words in ("They did not want to say", "that is 1 too many", "Wilma was told."))
    erase_party(walk_up.booking, reason="asked", by=world.olive, now=after)
    walk_up.refresh_from_db()
    assert (walk_up.heard, walk_up.answer, len(walk_up.against)) == (None, "(erased with the names)", 1)
    assert walk_up.booking.party.contact.name == ""


def test_what_was_asked_and_the_keys_go_with_the_health_answers(world: World) -> None:
    walk_up, copy = add(world, heard="told"), copy_of(world)
    much_later = world.walk.ends_at + timedelta(days=60)
    while erase_next_overdue(now=much_later):
        pass
    walk_up.refresh_from_db()
    copy.refresh_from_db()
    assert (walk_up.heard, copy.private_key) == (None, None)
    assert walk_up.booking.party.contact.name == "Wilma Wren"


@pytest.mark.database
def test_sixteen_at_the_meeting_point_and_one_sent_eight_times(real_world: World) -> None:
    world = real_world
    now, event = world.walk.starts_at - timedelta(minutes=5), uuid4()
    one = partial(add_walk_up, world.walk, came(world, event=event), by=world.gwen.user, now=now)
    others = [partial(add_walk_up, world.walk, came(world), by=world.gwen.user, now=now) for _ in range(8)]
    kinds = [outcome.kind for outcome in together([*[one] * 8, *others])]
    assert set(kinds) == {"done", "refused"}
    assert Place.objects.filter(given_back_at=None).count() == 12
    assert WalkUp.objects.filter(event=event).count() <= 1
    assert WalkUp.objects.count() == 6


@pytest.mark.database
def test_a_fault_at_any_statement_leaves_nothing_behind(real_world: World) -> None:
    another(real_world)
    assert fail_at_every_statement(partial(add, real_world)) > 20


def test_what_a_device_sealed_opens_for_nothing_else() -> None:
    key, theirs = new_private_key(), AESGCM.generate_key(256)
    way = padding.OAEP(mgf=padding.MGF1(algorithm=SHA256()), algorithm=SHA256(), label=None)
    wrapped = load_der_public_key(b64decode(public_half(key))).encrypt(theirs, way)  # type: ignore[union-attr]
    body = AESGCM(theirs).encrypt(bytes(12), b"Wilma", b"one")
    sealed = {name: b64encode(part).decode() for name, part in {"key": wrapped, "iv": bytes(12), "body": body}.items()}
    assert opened(key, sealed, event="one") == "Wilma"
    for wrong in ({"event": "two"}, {"sealed": sealed | {"body": sealed["key"]}}, {"key": new_private_key()}):
        given = {"key": key, "sealed": sealed, "event": "one"} | wrong
        with pytest.raises(ValueError, match="was not sealed for us"):
            opened(given["key"], given["sealed"], event=given["event"])  # type: ignore[arg-type]
