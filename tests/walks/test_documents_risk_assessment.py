"""The risk assessment, read back from the PDF."""

from __future__ import annotations

from datetime import datetime, time

import pytest

from bookings.coming import coming_on
from bookings.services.book_places import book_places
from curriculum.queries import accounts_in_use
from tests.bookings.risk import sign
from tests.cast import World
from tests.walks.printed import faults_of_accessibility, printed, teach, the_walk
from walks.compute.risk_group import NOBODY
from walks.models import GuideCertificate, LandownersPermission, Site, Walk
from walks.risk_document import day_check_html, risk_assessment_html, want_risk_assessment

HOSTILE = "\u202eevil \u2067 <script>x</script> <b>" + "forest " * 280 + "m" * 2000


@pytest.fixture
def wood(world: World, now: datetime) -> World:
    """The bare wood with what an ambulance needs to know."""
    teach(world, "pleurotus-ostreatus", now=now)
    Site.objects.update(
        mobile_coverage="patchy",
        emergency_department="Cast General Hospital",
        emergency_minutes=25,
    )
    return world


def html_of(world: World) -> str:
    walk = the_walk(world)
    return risk_assessment_html(walk, accounts_in_use(), coming_on(walk, now=world.now))


def test_it_says_what_a_caller_reads_out(wood: World) -> None:
    first = printed(html_of(wood)).pages[0]
    for words in (
        "In an emergency call 999 or 112",
        "SU 387 148 (OSGB36), 50.931600, -1.450000 (WGS84)",
        "Meeting point: the east gate, Cast Wood",
        "Cast General Hospital, 25 minutes by road",
        "Mobile coverage: patchy",
    ):
        assert words in first


def test_it_holds_the_five_steps_hazards_and_stop_rules(wood: World) -> None:
    text = printed(html_of(wood)).text
    for words in (
        "Identify hazards",
        "Assess the risks",
        "Control the risks",
        "Record your findings",
        "Review the controls",
        "Deadly species on the walk",
        "30 seconds or less from flash to thunder",
        "30 minutes after the last thunder",
        "gusts of 40 miles an hour",
        "DRAFT until signed",
        "Assessed by: name, signature, date",
    ):
        assert words in text


def test_it_gives_the_limits_and_those_with_one_guide_lost(wood: World) -> None:
    text = printed(html_of(wood)).text
    assert "The landowner's permission everybody 14 14" in text
    assert "The number of guides participants 24 12" in text
    assert "Adults with such a check who come: 1; with one guide lost: 0." in text


def test_no_participant_and_no_count_of_children_is_in_it(wood: World, now: datetime) -> None:
    before = html_of(wood)
    book_places(wood.order("adult", "4-8", "4-8", name="Mo Merriweather"), by="public", now=now)
    assert html_of(wood) == before


def test_it_is_tagged_and_its_fonts_are_embedded(wood: World) -> None:
    assert faults_of_accessibility(printed(html_of(wood)).content) == []


def test_hostile_words_move_neither_the_emergency_block_nor_the_signatures(wood: World) -> None:
    Site.objects.update(name=HOSTILE, meeting_point=HOSTILE, parking=HOSTILE, emergency_department=HOSTILE)
    read = printed(html_of(wood))
    block = next(page for page in read.pages if "In an emergency call" in page)
    assert "Mobile coverage: patchy" in block
    assert "SU 387 148" in block
    last = read.pages[-1]
    assert "Changed on the ground" in last
    assert "Assessed by: name, signature, date" in last
    assert "Leading guide, on the day" in last


def test_each_fact_that_it_prints_changes_the_key(wood: World, now: datetime) -> None:
    keys = [want_risk_assessment(the_walk(wood), NOBODY, now).manifest_hash]
    changes = (
        lambda: Site.objects.update(emergency_minutes=40),
        lambda: Site.objects.update(reference_as_typed="SU 388 149"),
        lambda: LandownersPermission.objects.update(most_people=10),
        lambda: GuideCertificate.objects.filter(kind="background_check").delete(),
        lambda: Walk.objects.update(low_water=time(11, 40)),
    )
    for change in changes:
        change()
        keys.append(want_risk_assessment(the_walk(wood), NOBODY, now).manifest_hash)
    assert len(set(keys)) == len(changes) + 1
    assert want_risk_assessment(the_walk(wood), NOBODY, now).manifest_hash == keys[-1]


def test_the_check_sheet_is_one_page_with_what_a_caller_says(wood: World, now: datetime) -> None:
    walk = the_walk(wood)
    for words in ("", HOSTILE):
        if words:
            Site.objects.update(meeting_point=words, parking=words, emergency_department=words)
        read = printed(day_check_html(the_walk(wood), accounts_in_use(), NOBODY))
        assert len(read.pages) == 1
        for said in ("SU 387 148", "999", "Stop rules", "Leading guide: name, signature, time", "Not signed".upper()):
            assert said in read.pages[0] or said.title() in read.pages[0], said
    assert walk.offering.title in read.text


def test_a_signed_one_names_who_signed_and_a_stale_one_which_fact(wood: World, now: datetime) -> None:
    sign(wood, now=now)
    text = printed(html_of(wood)).text
    assert "Version 1, signed by Gwen (leading guide)" in text
    assert "DRAFT" not in text
    Site.objects.update(hazards=["cattle"])
    text = printed(html_of(wood)).text
    assert "STALE" in text
    assert "What has changed since it was signed" in text
    assert "adds the hazard “Cattle and other large animals”" in text
