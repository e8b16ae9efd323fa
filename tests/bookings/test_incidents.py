"""Incidents and near misses: kept without blame, sealed, and back in the risk assessment until put right."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from functools import partial
from uuid import uuid4

import pytest
from django.db import connection
from django.test import Client

from bookings.coming import coming_on
from bookings.errors import IncidentNotKept
from bookings.models import Incident, IncidentPerson, KeptLonger, Look
from bookings.reporting import law_of
from bookings.services.book_places import book_places
from bookings.services.report_incident import Report, ToDo, add_follow_up, report_incident
from bookings.services.settle_follow_up import settle_follow_up
from tests.bookings.erasing import erase_next_overdue
from tests.bookings.race import together
from tests.bookings.risk import sign, state
from tests.cast import World
from tests.conftest import NOW
from tests.pages import signed_in, words_of
from walks.assessment_words import causes
from walks.models import Walk

pytestmark = [pytest.mark.database, pytest.mark.usefixtures("september")]


def report(**changes: object) -> Report:
    values = {"event": uuid4(), "kind": "near_miss", "at": NOW, "place": "the stile", "happened": "a slip", "done": "-"}
    return Report(**(values | changes))  # type: ignore[arg-type]


def raw(table: str) -> str:
    with connection.cursor() as cursor:
        cursor.execute(f'SELECT * FROM "{table}"')
        return str(cursor.fetchall())


def test_names_and_account_are_sealed_and_the_booking_is_kept_longer(world: World) -> None:
    booking = book_places(world.order(), by="participant", now=NOW)
    person = booking.party.people.first()
    told = report(people=(person,), others=(("other", "Walter Witness"),), happened="Walter saw it")
    made = report_incident(world.walk, told, by=world.olive, now=NOW)
    assert "Walter" not in raw("bookings_incident") + raw("bookings_incidentperson")
    assert [one.name for one in made.people.order_by("pk")] == [person.name, "Walter Witness"]
    assert "incident" in KeptLonger.objects.get(booking=booking).reason
    assert report_incident(world.walk, told, by=world.olive, now=NOW) == made
    assert KeptLonger.objects.count() == 1


def test_what_is_still_to_come_is_no_incident(world: World) -> None:
    with pytest.raises(IncidentNotKept, match="still to come"):
        report_incident(world.walk, report(at=NOW + timedelta(minutes=1)), by=world.olive, now=NOW)
    assert not Incident.objects.exists()


def test_all_of_it_is_erased_when_not_even_a_child_can_claim(world: World) -> None:
    report_incident(world.walk, report(others=(("other", "Walter Witness"),)), by=world.olive, now=NOW)
    assert not erase_next_overdue(now=NOW.replace(year=NOW.year + 24))
    assert erase_next_overdue(now=NOW.replace(year=NOW.year + 26))
    assert IncidentPerson.objects.get().name is None
    assert Incident.objects.get().happened is None


def test_an_open_follow_up_makes_a_signed_assessment_stale_until_it_is_done(world: World) -> None:
    made = report_incident(world.walk, report(), by=world.olive, now=NOW)
    sign(world, now=NOW)
    assert state(world, now=NOW).word != "stale"
    to_do = ToDo("mend the stile", world.olive, date(2026, 10, 1))
    follow_up = add_follow_up(made, to_do, by=world.olive, now=NOW)
    assert coming_on(world.walk, now=NOW).follow_ups == {"mend the stile"}
    assert {one.fact for one in state(world, now=NOW).reasons} == {"open_follow_ups"}
    assert settle_follow_up(follow_up, by=world.olive, now=NOW)
    assert not settle_follow_up(follow_up, by=world.olive, now=NOW)
    assert state(world, now=NOW).word != "stale"


def test_what_every_walk_does_since_stays_in_the_assessment_until_it_is_ended(world: World) -> None:
    made = report_incident(world.walk, report(), by=world.olive, now=NOW)
    follow_up = add_follow_up(made, ToDo("keep off the weir", world.olive, date(2026, 10, 1)), by=world.olive, now=NOW)
    sign(world, now=NOW)
    page, button = signed_in(world.gwen.user), f"/staff/follow-ups/{follow_up.public_id}/done/"
    shown = page.post(button, {"said": "lasts"}, follow=True)
    assert "Every walk here does it" in words_of(shown.content)
    stands = state(world, now=NOW)
    assert {one.fact for one in stands.reasons} == {"lasting_controls"}
    lesson = next(one for one in stands.composed.hazards if one.key == "lesson_of_an_incident")
    assert causes(lesson, {}) == "lasting controls: keep off the weir"
    page.post(button, {"said": "ended"})
    assert "lasting_controls" not in {one.fact for one in state(world, now=NOW).reasons}
    assert coming_on(world.walk, now=NOW).lasting == frozenset()


def test_the_law_is_said_where_we_hold_it() -> None:
    law = law_of("GB-SCT", date(2026, 10, 3))
    assert law is not None
    assert {one.by for one in law.duties} == {date(2026, 10, 13), date(2026, 10, 18), None}
    (disease,) = (one for one in law.duties if one.by is None)
    assert "biological agent" in disease.what
    assert "diagnosis" in disease.how
    assert law_of("GB-NIR", date(2026, 10, 3)) is None


def test_one_report_sent_six_times_at_once_is_one_incident(real_world: World) -> None:
    sent = report()
    tell = partial(report_incident, real_world.walk, sent, by=real_world.olive, now=NOW)
    assert {one.kind for one in together([tell] * 6)} == {"done"}
    assert Incident.objects.count() == 1


def test_the_days_of_the_law_are_counted_at_the_place_of_the_walk(world: World) -> None:
    """23:30 on 1 September where the house keeps its clock is 2 September in Paris."""
    Walk.objects.update(zone="Europe/Paris")
    at = datetime(2026, 9, 1, 22, 30, tzinfo=UTC)
    made = report_incident(world.walk, report(at=at), by=world.olive, now=NOW)
    page = words_of(signed_in(world.olive).get(f"/staff/incidents/{made.public_id}/").content)
    assert "due by 12 September 2026" in page
    assert "due by 11 September 2026" not in page


def test_a_guide_reports_and_the_office_reads_it(world: World) -> None:
    guide, office = Client(), Client()
    guide.force_login(world.gwen.user)
    office.force_login(world.olive)
    address = f"/staff/walks/{world.offering.public_id}/1/incidents/"
    assert "No blame" in guide.get(address).content.decode()
    sent = {
        "kind": "near_miss",
        "at": "2026-09-01T09:00",
        "place": "the stile",
        "happened": "a slip",
        "done": "went on",
    }
    assert guide.post(address, sent | {"place": ""}).status_code == 422
    page = guide.post(address, sent | {"others": "Walter Witness"}, follow=True).content.decode()
    assert "Walter Witness" in page
    assert "enforcing authority" in page
    own = f"/staff/incidents/{Incident.objects.get().public_id}/"
    office.post(own, {"what": "mend the stile", "owner": world.olive.pk, "due": NOW.date().isoformat()})
    assert "mend the stile" in office.get("/staff/incidents/").content.decode()
    assert "mend the stile" in office.get("/staff/").content.decode()


def test_a_look_at_a_report_that_names_nobody_is_written_down_too(world: World) -> None:
    made = report_incident(world.walk, report(happened="fainted; carries insulin"), by=world.olive, now=NOW)
    answer = signed_in(world.gwen.user).get(f"/staff/incidents/{made.public_id}/")
    look = Look.objects.get()
    assert (look.person_id_of, look.who, look.what) == (made.public_id, world.gwen.user, Look.What.INCIDENT)
    assert answer["Cache-Control"] == "no-store"
    assert "This look is written down." in words_of(answer.content)
    page = words_of(signed_in(world.olive).get("/staff/looks/").content)
    assert "report of an incident nobody’s booking" in page
    assert "erased" not in page
