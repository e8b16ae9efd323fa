"""The public feed: the properties of each entry, read back by two independent parsers."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

import icalendar
import pytest
import vobject
from django.conf import settings
from django.test import Client

from bookings.services.call_off_walk import call_off_walk
from foraywright.floor.models import Business
from tests.cast import World
from walks.feeds.calendar import Rendered, calendar
from walks.feeds.entries import facts_of, feed_walks, public_entries
from walks.feeds.event import description, event_text, summary
from walks.models import Offering, Site, Walk
from walks.queries import offering_slugs
from walks.services.publish_walk import publish_walk
from walks.services.schedule_walk import schedule_walk
from walks.services.show_places_taken import show_places_taken

FEED = "/calendar/walks.ics"


def render(now: datetime) -> Rendered:
    walks = list(feed_walks(today=now.date()))
    entry_of = public_entries(walks, offering_slugs(), now=now)
    return calendar(walks, entry_of, Business.objects.get(), address=f"{settings.SITE_ADDRESS}{FEED}")


def events(content: bytes) -> list[icalendar.Event]:
    return list(icalendar.Calendar.from_ical(content).walk("VEVENT"))


def only_event(now: datetime) -> icalendar.Event:
    (one,) = events(render(now).content)
    return one


def instants_by_icalendar(content: bytes) -> dict[str, tuple[datetime, datetime]]:
    return {
        str(one["UID"]): (one["DTSTART"].dt.astimezone(UTC), one["DTEND"].dt.astimezone(UTC)) for one in events(content)
    }


def instants_by_vobject(content: bytes) -> dict[str, tuple[datetime, datetime]]:
    """This parser takes the zone's rules from the VTIMEZONE of the file and from nowhere else."""
    read = vobject.readOne(content.decode("utf-8"))
    return {
        one.uid.value: (one.dtstart.value.astimezone(UTC), one.dtend.value.astimezone(UTC)) for one in read.vevent_list
    }


def instants_stored(walks: Iterable[Walk]) -> dict[str, tuple[datetime, datetime]]:
    return {one.calendar_uid: (one.starts_at, one.ends_at) for one in walks}


def publish_on(world: World, day: date, at: time, zone: str = "Europe/London", **changes: object) -> Walk:
    """A published walk that no paper stands against."""
    Site.objects.filter(pk=world.wood.pk).update(zone=zone)
    world.wood.refresh_from_db()
    session = world.session(local_date=day, local_time=at, is_night_walk=True, guides=(world.gwen,), **changes)
    return publish_walk(
        schedule_walk(world.plan(session), by=world.olive, now=world.now), by=world.olive, now=world.now
    ).walks.get()


def test_says_what_the_walk_is(world: World) -> None:
    walk = world.walk
    one = only_event(world.now)
    slug = offering_slugs()[world.offering.public_id]
    assert one["UID"] == walk.calendar_uid
    assert one["DTSTAMP"].dt == walk.calendar_stamp
    assert one["LAST-MODIFIED"].dt == walk.calendar_modified
    assert one["SEQUENCE"] == 0
    assert one["DTSTART"].params["TZID"] == "Europe/London"
    assert one["DTSTART"].dt == datetime(2026, 10, 3, 10, 0, tzinfo=ZoneInfo("Europe/London"))
    assert one["DTEND"].dt - one["DTSTART"].dt == timedelta(hours=3)
    assert one["SUMMARY"] == "The bare wood"
    assert one["LOCATION"] == "the east gate, Cast Wood, SU 387 148"
    assert one["GEO"].to_ical() == "50.9316;-1.45"
    assert one["STATUS"] == "CONFIRMED"
    assert one["CATEGORIES"].cats == ["Winter wood"]
    assert one["URL"] == f"{settings.SITE_ADDRESS}/walks/{slug}/"
    assert one["ATTACH"] == f"{settings.SITE_ADDRESS}/walks/{slug}/handout.pdf"
    assert one["ATTACH"].params["FMTTYPE"] == "application/pdf"


def test_names_itself_and_asks_to_be_fetched_again(world: World) -> None:
    content = render(world.now).content
    whole = icalendar.Calendar.from_ical(content)
    assert whole["VERSION"] == "2.0"
    assert whole["PRODID"] == "-//Foraywright//Walks//EN"
    assert whole["NAME"] == whole["X-WR-CALNAME"] == "Walks of Cast and Company"
    assert whole["REFRESH-INTERVAL"].dt == timedelta(hours=4)
    assert b"REFRESH-INTERVAL;VALUE=DURATION:PT4H\r\n" in content
    assert b"X-PUBLISHED-TTL:PT4H\r\n" in content
    assert "METHOD" not in whole


def test_lines_end_in_crlf_and_are_folded_at_75_octets(world: World) -> None:
    Offering.objects.update(lead="Wö­rter und Bäume, " * 15)
    lines = render(world.now).content.split(b"\r\n")
    assert lines[-1] == b""
    assert all(len(line) <= 75 and b"\n" not in line for line in lines)
    assert all(line.decode("utf-8") is not None for line in lines)


@pytest.mark.parametrize(
    ("taken", "words"),
    [(0, "Places are open."), (8, "Places are open."), (9, "Few places are left."), (12, "The walk is full.")],
)
def test_says_how_full_the_walk_is(world: World, taken: int, words: str) -> None:
    Walk.objects.update(places_taken_shown=taken)
    assert str(only_event(world.now)["DESCRIPTION"]).splitlines()[-1] == words


def test_says_nothing_of_places_once_it_has_begun(world: World) -> None:
    later = world.walk.starts_at
    assert "lace" not in str(only_event(later)["DESCRIPTION"])


def test_names_no_guide(world: World) -> None:
    assert b"Gwen" not in render(world.now).content
    assert b"Harry" not in render(world.now).content


def test_never_tells_the_ground_that_is_walked(world: World) -> None:
    assert b"50.932" not in render(world.now).content


def test_a_degree_near_nought_is_written_as_a_decimal(world: World) -> None:
    Site.objects.update(longitude=Decimal("0.000050"))
    assert b"GEO:50.931600;0.000050\r\n" in render(world.now).content


def test_sessions_of_a_course_are_entries_of_their_own(world: World) -> None:
    days = [date(2026, 10, 10), date(2026, 10, 17)]
    plan = world.plan(*(world.session(local_date=day) for day in days), title="Two Saturdays")
    publish_walk(schedule_walk(plan, by=world.olive, now=world.now), by=world.olive, now=world.now)
    found = events(render(world.now).content)
    assert [str(one["SUMMARY"]) for one in found[1:]] == ["Two Saturdays (1 of 2)", "Two Saturdays (2 of 2)"]
    assert len({str(one["UID"]) for one in found}) == 3
    assert "RELATED-TO" not in found[0]
    assert "RELATED-TO" not in found[1]
    assert found[2]["RELATED-TO"] == found[1]["UID"]
    assert found[2]["RELATED-TO"].params["RELTYPE"] == "SIBLING"


def test_after_one_change_only_that_event_is_made_anew(world: World) -> None:
    for day in (10, 17, 24):
        publish_on(world, date(2026, 10, day), time(10))
    event_text.cache_clear()
    before = render(world.now).content
    assert event_text.cache_info().misses == 4
    Offering.objects.filter(walks__local_date=date(2026, 10, 17)).update(title="Another title")
    after = render(world.now).content
    assert event_text.cache_info().misses == 5
    assert after != before


def test_queries_do_not_grow_with_the_walks(world: World, django_assert_num_queries: object) -> None:
    for number in range(2):
        with django_assert_num_queries(12):  # type: ignore[operator]
            render(world.now)
        publish_on(world, date(2026, 10, 10 + 7 * number), time(10))


def test_a_draft_is_not_in_it(world: World) -> None:
    schedule_walk(world.plan(world.session(local_date=date(2026, 10, 10))), by=world.olive, now=world.now)
    assert len(events(render(world.now).content)) == 1


@pytest.mark.django_db(transaction=True)
def test_a_called_off_walk_stays_as_cancelled_for_thirty_days_after_its_date(real_world: World) -> None:
    before = only_event(real_world.now)
    call_off_walk(real_world.offering, why="Storm damage; two paths shut.", by=real_world.olive, now=real_world.now)
    one = only_event(real_world.now + timedelta(hours=1))
    assert one["UID"] == before["UID"]
    assert one["SEQUENCE"] == before["SEQUENCE"] + 1
    assert one["STATUS"] == "CANCELLED"
    assert one["SUMMARY"] == "Called off: The bare wood"
    assert str(one["DESCRIPTION"]).startswith("Called off: Storm damage; two paths shut.\n")
    assert len(events(render(datetime(2026, 11, 2, 12, tzinfo=UTC)).content)) == 1
    assert events(render(datetime(2026, 11, 3, 12, tzinfo=UTC)).content) == []


def test_a_walk_that_took_place_stays_for_a_year(world: World) -> None:
    assert len(events(render(datetime(2027, 10, 3, 12, tzinfo=UTC)).content)) == 1
    assert events(render(datetime(2027, 10, 4, 12, tzinfo=UTC)).content) == []


def test_two_renders_of_the_same_rows_are_the_same_bytes_a_day_apart(world: World) -> None:
    assert render(world.now).content == render(world.now + timedelta(days=1)).content


@pytest.mark.django_db(transaction=True)
def test_a_change_that_readers_see_changes_the_bytes(real_world: World) -> None:
    from foraywright.floor.acts import act

    before = render(real_world.now).content
    act(show_places_taken)(real_world.walk, 12, now=real_world.now + timedelta(hours=1))
    after = only_event(real_world.now)
    assert render(real_world.now).content != before
    assert after["LAST-MODIFIED"].dt == real_world.now + timedelta(hours=1)
    assert after["SEQUENCE"] == 0


def test_one_bad_row_is_left_out_and_reported(world: World, caplog: pytest.LogCaptureFixture) -> None:
    bad = publish_on(world, date(2026, 10, 10), time(10))
    Walk.objects.filter(pk=bad.pk).update(zone="Europe/Nowhere")
    rendered = render(world.now)
    assert rendered.left_out == (bad.public_id,)
    assert bad.public_id in caplog.text
    assert [str(one["UID"]) for one in events(rendered.content)] == [world.walk.calendar_uid]


def test_an_empty_feed_is_a_calendar_too(world: World) -> None:
    Offering.objects.update(state=Offering.State.DRAFT)
    assert events(render(world.now).content) == []
    assert render(world.now).content.endswith(b"END:VCALENDAR\r\n")


CLOCK_CHANGES = [
    ("Europe/London", date(2026, 10, 24), time(22, 0), 360),
    ("Europe/London", date(2026, 10, 25), time(0, 30), 60),
    ("Europe/London", date(2026, 10, 25), time(0, 30), 150),
    ("Europe/London", date(2026, 10, 25), time(9, 0), 180),
    ("Europe/London", date(2026, 10, 26), time(9, 0), 180),
    ("Europe/Dublin", date(2026, 10, 25), time(0, 30), 150),
    ("Europe/Berlin", date(2026, 10, 25), time(1, 30), 200),
    ("America/St_Johns", date(2026, 11, 1), time(0, 15), 200),
    ("Australia/Lord_Howe", date(2026, 10, 4), time(1, 0), 120),
    ("Pacific/Chatham", date(2026, 9, 27), time(1, 0), 180),
    ("Asia/Kolkata", date(2026, 10, 10), time(6, 0), 180),
]


@pytest.mark.parametrize(("zone", "day", "at", "minutes"), CLOCK_CHANGES)
def test_parsers_agree_on_every_instant_around_a_change_of_clocks(
    world: World, zone: str, day: date, at: time, minutes: int
) -> None:
    walk = publish_on(world, day, at, zone, minutes=minutes)
    content = render(world.now).content
    stored = instants_stored([world.walk, walk])
    assert instants_by_icalendar(content) == stored
    assert instants_by_vobject(content) == stored


@pytest.mark.parametrize("fold", [0, 1])
def test_both_showings_of_a_repeated_hour_are_told_apart(world: World, fold: int) -> None:
    walk = publish_on(world, date(2026, 10, 25), time(1, 30), fold=fold, minutes=180)
    content = render(world.now).content
    assert walk.starts_at == datetime(2026, 10, 25, fold, 30, tzinfo=UTC)
    assert instants_by_icalendar(content)[walk.calendar_uid][0] == walk.starts_at
    assert instants_by_vobject(content)[walk.calendar_uid][0] == walk.starts_at


def test_sentences_of_an_entry_are_plain(world: World) -> None:
    world.offering.lead, world.wood.going = "What grows\r\nnow.", "4 km,\x00 muddy"
    walk = world.walk
    walk.offering, walk.site = world.offering, world.wood
    facts = facts_of(public_entries([walk], {world.offering.public_id: "x"}, now=world.now)(walk))
    assert summary(facts) == "The bare wood"
    assert description(facts) == "What grows now.\nGoing: 4 km, muddy\nPlaces are open."


def test_page_says_how_to_follow(world: World) -> None:
    page = Client().get("/calendar/").content.decode()
    assert f'value="{settings.SITE_ADDRESS}{FEED}"' in page
    assert 'href="webcal://walks.example.org/calendar/walks.ics"' in page
