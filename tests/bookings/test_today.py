"""The front page's register: what waits for whom, in how many queries."""

from __future__ import annotations

from datetime import date, time, timedelta

import pytest
from bs4 import BeautifulSoup
from django.db import connection
from django.db.models import Model
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from bookings.models import AccessNeed, Booking, OutboxMessage
from bookings.services.ask_for_group import ask_for_group
from bookings.services.book_places import book_places
from bookings.services.cancel_booking import cancel_booking
from bookings.services.record_payment import record_payment
from bookings.services.send_messages import send_next_message
from bookings.today import KINDS, what_needs_somebody
from curriculum.models import Document
from curriculum.services.want_document import want_document
from foraywright.floor.compute.permissions import ACTS, Actor
from foraywright.floor.compute.short_codes import spoken
from foraywright.floor.leases import claim
from foraywright.floor.models import AuditLine, Slug
from tests.bookings.risk import sign
from tests.cast import OFFICE, WALK_DAY, World
from tests.pages import signed_in, words_of
from walks.models import GuideCertificate, LandownersPermission, Site, Walk
from walks.services.publish_walk import publish_walk
from walks.services.schedule_walk import schedule_walk


def words(actor: Actor, world: World, **later: int) -> list[str]:
    return [one.words for one in what_needs_somebody(actor, now=world.now + timedelta(**later))]


def guide(public_id: str) -> Actor:
    return Actor(signed_in=True, roles=frozenset({"guide"}), guide=public_id)


@pytest.fixture
def booking(world: World) -> Booking:
    return book_places(world.order(), by="participant", now=world.now)


def test_a_letter_that_offers_places_says_until_when_and_a_silent_mail_server_is_named(
    world: World, booking: Booking
) -> None:
    OutboxMessage.objects.filter(booking=booking).update(attempts=4, last_error="The mail server broke off.")
    tried = "1 letter is tried again and again, the first since 14 September 2026. Look whether mail goes out at all."
    assert tried in words(OFFICE, world)
    OutboxMessage.objects.update(kind="offer", given_up_at=world.now)
    until = world.now + timedelta(hours=3)
    Booking.objects.update(state=Booking.State.HELD, hold_kind=Booking.HoldKind.OFFER, held_until=until)
    failed = "A letter (offer from the waiting list) could not be sent. Telephone instead, then say so."
    assert f"{failed} Their places are held until 1 pm on 14 September 2026." in words(OFFICE, world)
    assert failed in words(OFFICE, world, hours=3)
    assert tried not in words(OFFICE, world)


def test_every_kind_names_an_act(world: World) -> None:
    assert {act for act, _ in KINDS} <= set(ACTS)


def test_a_promised_refund_is_named_with_its_amount_until_it_is_paid(world: World, booking: Booking) -> None:
    record_payment(booking, into="bank", amount_minor=3600, by=world.olive, now=world.now)
    assert not [one for one in words(OFFICE, world) if "paid back" in one]
    cancel_booking(booking, by="participant", now=world.now)
    sentence = f"£36.00 is to be paid back for booking {spoken(booking.code)}: it was promised."
    assert sentence in words(OFFICE, world)
    assert sentence not in words(guide(world.gwen.public_id), world)


def test_a_group_that_asked_waits_for_a_quote_for_four_weeks(world: World) -> None:
    facts = {
        "group": "Hill School",
        "name": "Ada",
        "email": "ada@example.org",
        "dates": "May",
        "size": 20,
        "leaders": 2,
    }
    ask_for_group(facts, by="participant", now=world.now)
    sentence = "1 school or club waits for a quote, the first since 14 September 2026."
    assert sentence in words(OFFICE, world)
    assert sentence not in words(guide(world.gwen.public_id), world)
    assert [one for one in words(OFFICE, world, days=28) if "quote" in one] == []


def test_an_access_need_waits_until_it_is_answered(world: World, booking: Booking) -> None:
    need = AccessNeed.objects.create(booking=booking, need="A step-free way.", asked_at=world.now)
    said = [one for one in words(OFFICE, world) if "what they need" in one]
    assert said == ["1 party asks whether they can come with what they need, the first since 14 September 2026."]
    need.answer, need.answered_by, need.answered_at = "Yes.", world.olive, world.now
    need.save()
    assert not [one for one in words(OFFICE, world) if "what they need" in one]


def test_an_open_offer_is_named_until_it_has_run_out(world: World, booking: Booking) -> None:
    end = world.now + timedelta(hours=2)
    Booking.objects.update(state="held", hold_kind="offer", held_until=end)
    assert any("1 offer from the waiting list is open" in one for one in words(OFFICE, world))
    assert not any("offer from the waiting list" in one for one in words(OFFICE, world, hours=2))


def test_an_assessment_waits_for_the_guides_of_the_walk_alone(world: World) -> None:
    Walk.objects.get().walk_guides.filter(guide=world.harry).delete()
    days = (Walk.objects.get().starts_at - world.now).days - 5
    sentence = "The risk assessment of “The bare wood” on 3 October 2026 is not signed."
    assert sentence in words(OFFICE, world, days=days)
    assert sentence in words(guide(world.gwen.public_id), world, days=days)
    assert sentence not in words(guide(world.harry.public_id), world, days=days)


@pytest.mark.parametrize(("model", "named"), [(LandownersPermission, "Cast Wood"), (GuideCertificate, "Gwen Guide")])
def test_a_paper_that_was_renewed_is_not_asked_for(world: World, model: type[Model], named: str) -> None:
    model._default_manager.update(valid_to=date(2026, 10, 31))
    assert any(named in one and "ends on 31 October 2026" in one for one in words(OFFICE, world))
    for row in model._default_manager.all():
        values = {"valid_from": date(2026, 11, 1), "valid_to": date(2027, 10, 31), "pk": None, "public_id": "renewed"}
        for name, value in values.items():
            setattr(row, name, value)
        row.save()
    assert not any(named in one and "ends on" in one for one in words(OFFICE, world))


def test_a_departure_that_leaves_a_child_with_one_adult_is_told(world: World) -> None:
    """Two adults wherever there is a child: common practice in the published ratios of the cast's policy."""
    world.walk.walk_guides.filter(guide=world.harry).delete()
    leaves = book_places(world.order("adult", "4-8"), by="participant", now=world.now)
    book_places(world.order("13-17", guardian=False), by="participant", now=world.now)
    assert not any("is against a limit" in one for one in words(OFFICE, world))
    cancel_booking(leaves, by="participant", now=world.now)
    (told,) = (one for one in words(OFFICE, world) if "is against a limit" in one)
    assert told.startswith("“The bare wood” on 3 October 2026 is against a limit:")
    assert told.endswith("Find another adult or guide, or ring the parties.")
    assert "Of 1 letter to parties with children none went out." in told
    assert told in words(guide(world.gwen.public_id), world)
    while send_next_message(now=world.now):
        pass
    assert any("Of 1 letter to parties with children 1 went out." in one for one in words(OFFICE, world))


def test_a_walk_that_no_calendar_can_say_is_told_with_what_to_do(
    world: World, caplog: pytest.LogCaptureFixture
) -> None:
    assert not any("missing from the calendars" in one for one in words(OFFICE, world))
    Slug.objects.filter(object_id=world.offering.public_id).delete()
    (told,) = (one for one in words(OFFICE, world) if "missing from the calendars" in one)
    assert told.startswith("“The bare wood” on 3 October 2026 is missing")
    assert "Look through its title, times and place" in told
    assert not caplog.records, "the log hears it from the calendars, not from each look at Today"
    assert not any("missing from the calendars" in one for one in words(OFFICE, world, days=20))


def test_low_water_that_nobody_wrote_down_is_told_by_site(world: World) -> None:
    assert not any("Low water" in one for one in words(OFFICE, world))
    Site.objects.update(habitats=["rocky_shore"])
    for day in (1, 2):
        session = world.session(local_date=WALK_DAY + timedelta(days=day), low_water=time(11))
        schedule_walk(world.plan(session, title=f"Walk {day}"), by=world.olive, now=world.now)
    told = "Low water of “The bare wood” on 3 October 2026 at Cast Wood is not written down"
    assert f"{told}. Take it from a tide table." in words(OFFICE, world)
    Walk.objects.filter(local_date=WALK_DAY + timedelta(days=2)).update(low_water=None)
    (need,) = (one for one in what_needs_somebody(OFFICE, now=world.now) if "Low water" in one.words)
    assert need.words == f"{told}, and of 1 later walk there. Take it from a tide table."
    assert need.address == reverse("staff_walk", args=[world.offering.public_id])
    Walk.objects.update(called_off_at=world.now)
    assert not any("Low water" in one for one in words(OFFICE, world))


def queries(world: World) -> int:
    with CaptureQueriesContext(
        connection,
    ) as ran:
        what_needs_somebody(OFFICE, now=Walk.objects.earliest("starts_at").starts_at - timedelta(days=6))
    return len(ran)


def test_a_pdf_that_was_given_up_is_tried_again_from_its_line(world: World) -> None:
    document = want_document("booklet", world.walk.public_id, "<p>-</p>", now=world.now)
    Document.objects.update(given_up_at=world.now, attempts=6, last_error="It took too long.")
    (need,) = (one for one in what_needs_somebody(OFFICE, now=world.now) if "could not be made" in one.words)
    assert need.words == "A PDF (handout booklet) could not be made: It took too long. Have it tried again."
    client = signed_in(world.olive)
    asked = BeautifulSoup(client.get(need.address).content, "html.parser")
    seen = asked.select_one("[name=seen]")["value"]
    assert "The worker tries it again." in words_of(client.post(need.address, {"seen": seen}, follow=True).content)
    assert claim(Document, now=timezone.now()) == document
    assert not [one for one in what_needs_somebody(OFFICE, now=world.now) if "could not be made" in one.words]
    assert AuditLine.objects.filter(act="build document again", actor=world.olive.public_id).count() == 1


def test_the_accounts_are_read_once(world: World) -> None:
    with CaptureQueriesContext(connection) as ran:
        what_needs_somebody(OFFICE, now=Walk.objects.earliest("starts_at").starts_at - timedelta(days=6))
    assert sum('FROM "curriculum_taxon" ORDER BY' in one["sql"] for one in ran) == 1


def test_more_signed_walks_cost_no_more_queries(world: World) -> None:
    sign(world, now=world.now)
    few = queries(world)
    for day in (1, 2, 3):
        session = world.session(local_date=WALK_DAY + timedelta(days=day))
        draft = schedule_walk(world.plan(session, title=f"Walk {day}"), by=world.olive, now=world.now)
        world.offering = publish_walk(draft, by=world.olive, now=world.now)
        sign(world, now=world.now)
    assert queries(world) == few <= 73
