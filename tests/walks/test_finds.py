"""Finds of a walk: kept once, blurred before they are written, fed to the season model, taken away as Darwin Core."""

from __future__ import annotations

import csv
import io
from datetime import date, timedelta
from uuid import uuid4
from zipfile import ZipFile

import pytest
import time_machine
from bs4 import BeautifulSoup
from defusedxml.ElementTree import fromstring
from django.db import IntegrityError, transaction
from django.test import Client

from curriculum.models import Taxon
from curriculum.queries import accounts_in_use
from curriculum.services.load_starter import load_starter
from tests.cast import World
from tests.pages import words_of
from walks.compute.darwin_core import NAMESPACE, TERMS
from walks.errors import FindNotKept
from walks.finds import noted_before, occurrences
from walks.models import Find, FindList, Offering, Site, ThemeTaxon, Walk
from walks.queries import expectation_of
from walks.services.keep_find import Found, keep_effort, keep_find
from walks.services.schedule_walk import schedule_walk

OYSTER, CAP = "pleurotus-ostreatus", "amanita-phalloides"


@pytest.fixture
def taught(world: World) -> World:
    load_starter(by="command", now=world.now)
    ThemeTaxon.objects.create(theme=world.theme, taxon=Taxon.objects.get(key=OYSTER))
    Site.objects.update(habitats=["broadleaved_wood"])
    return world


@pytest.fixture
def later(taught: World) -> Walk:
    """A walk on the same ground, a week after."""
    plan = taught.plan(taught.session(local_date=date(2026, 10, 10)))
    return schedule_walk(plan, by=taught.olive, now=taught.now).walks.get()


def keep(world: World, key: str = OYSTER, **changes: object) -> Find:
    found = Found(**({"event": uuid4(), "taxon": Taxon.objects.get(key=key)} | changes))  # type: ignore[arg-type]
    return keep_find(world.walk, found, by=world.olive, now=world.walk.ends_at)


def effort(world: World, *, complete: bool) -> FindList:
    sent = {"complete": complete, "minutes": 90, "people": 8}
    return keep_effort(world.walk, **sent, by=world.olive, now=world.walk.ends_at)  # type: ignore[arg-type]


def test_the_reviewer_reads_what_our_own_lists_say(taught: World, later: Walk) -> None:
    client = Client()
    client.force_login(taught.rosa)
    page = f"/staff/curriculum/{OYSTER}/"
    assert "Own finds" not in client.get(page).text
    keep(taught, CAP)
    with time_machine.travel(taught.walk.ends_at, tick=False):
        assert "Noted on none of our 1 walk with a list since 2026." in words_of(client.get(page).content)
        keep(taught)
        keep_effort(later, complete=False, minutes=60, people=3, by=taught.olive, now=later.ends_at)
        said = "Noted on 1 of our 2 walks with a list since 2026, last on 3 October 2026."
        assert said in words_of(client.get(page).content)
    assert client.get("/staff/curriculum/audit/").status_code == 200


def test_the_point_is_blurred_before_it_is_written(taught: World) -> None:
    find = keep(taught, place=(50.9316, -1.45))
    assert (str(find.latitude), str(find.longitude), find.uncertainty_m) == ("50.933009", "-1.448379", 715)
    assert keep(taught, place=(50.9316, -1.45), blur_m=10).uncertainty_m == 8
    assert keep(taught, blur_m=10).uncertainty_m == 1715


def test_the_same_form_sent_twice_is_one_find(taught: World) -> None:
    event = uuid4()
    assert keep(taught, event=event).pk == keep(taught, event=event).pk
    assert Find.objects.count() == 1


def test_what_is_not_kept(taught: World) -> None:
    with pytest.raises(FindNotKept, match="species, or words"):
        keep(taught, taxon=None, words="  ")
    with pytest.raises(FindNotKept, match="how long"):
        keep_effort(taught.walk, complete=True, minutes=None, people=8, by=taught.olive, now=taught.walk.ends_at)
    with pytest.raises(FindNotKept, match="none of a species"):
        keep(taught, count=0)
    early = taught.walk.starts_at - timedelta(hours=3)
    with pytest.raises(FindNotKept, match="two hours before"):
        keep_find(taught.walk, Found(uuid4(), None, "a cap"), by=taught.olive, now=early)
    assert not FindList.objects.exists()


def chance(walk: Walk, key: str) -> float:
    expected = expectation_of(walk, accounts_in_use(), lists=noted_before(walk))
    return next(one.chance.mean for one in expected.taught if one.account.taxon == key)


def test_own_finds_move_the_chance_of_the_next_walk(taught: World, later: Walk) -> None:
    before = chance(later, OYSTER)
    effort(taught, complete=False)
    assert chance(later, OYSTER) == before
    effort(taught, complete=True)
    assert chance(later, OYSTER) < before
    keep(taught)
    assert chance(later, OYSTER) > before
    assert noted_before(taught.walk) == []


def test_no_list_takes_a_danger_away(taught: World, later: Walk) -> None:
    def dangers() -> list[str]:
        expected = expectation_of(later, accounts_in_use(), lists=noted_before(later))
        return [one.taxon for one in expected.dangers]

    before = dangers()
    assert CAP in before
    effort(taught, complete=True)
    assert dangers() == before


def test_an_absence_is_written_for_complete_lists_alone(taught: World) -> None:
    keep(taught, CAP, host="oak", stage="young", count=3)
    keep(taught, taxon=None, words="=a brown cap")
    effort(taught, complete=False)
    assert [one.occurrenceStatus for one in occurrences(accounts_in_use())] == ["present"]
    effort(taught, complete=True)
    there, missing = occurrences(accounts_in_use())
    assert (there.scientificName, there.lifeStage, there.associatedTaxa) == ("Amanita phalloides", "young", "host: oak")
    assert (missing.scientificName, missing.occurrenceStatus) == ("Pleurotus ostreatus", "absent")
    assert missing.samplingEffort == "90 minutes, 8 people"
    assert missing.occurrenceID == list(occurrences(accounts_in_use()))[1].occurrenceID


def test_a_walk_called_off_says_what_was_there_and_of_nothing_that_it_was_not(taught: World) -> None:
    keep(taught, CAP)
    effort(taught, complete=True)
    Walk.objects.update(called_off_at=taught.walk.ends_at)
    [there] = occurrences(accounts_in_use())
    assert (there.occurrenceStatus, there.samplingProtocol) == ("present", "walk, casual list")


def test_a_find_of_a_walk_over_midnight_is_of_either_day(taught: World) -> None:
    keep(taught)
    Walk.objects.update(ends_at=taught.walk.starts_at + timedelta(hours=16))
    [there] = occurrences(accounts_in_use())
    assert there.eventDate == "2026-10-03T10:00+01:00/2026-10-04T02:00+01:00"


def test_how_many_is_written_as_what_was_counted_and_stages_by_their_keys(taught: World) -> None:
    keep(taught, count=3, stage="mature")
    [there] = occurrences(accounts_in_use())
    assert (there.organismQuantity, there.organismQuantityType) == ("3", "individuals or clusters")
    assert there.lifeStage == "mature"


def test_the_database_keeps_no_find_of_none(taught: World) -> None:
    kept = Find.objects.filter(pk=keep(taught, count=1).pk)
    with pytest.raises(IntegrityError, match="a_find_is_of_one_or_more"), transaction.atomic():
        kept.update(count=0)
    assert kept.update(count=None) == 1


@pytest.fixture
def gwen(world: World) -> Client:
    client = Client()
    client.force_login(world.gwen.user)
    return client


def test_the_archive_describes_its_own_table(taught: World, gwen: Client) -> None:
    keep(taught, count=3)
    with ZipFile(io.BytesIO(gwen.get("/staff/finds/archive/").content)) as archive:
        files = {name: archive.read(name).decode() for name in archive.namelist()}
    core = fromstring(files["meta.xml"]).find("{http://rs.tdwg.org/dwc/text/}core")
    described = [one.get("term") for one in core.iter("{http://rs.tdwg.org/dwc/text/}field")]
    header, row = csv.reader(io.StringIO(files["occurrence.csv"]))
    assert described == [NAMESPACE + one for one in header] == [NAMESPACE + one for one in TERMS]
    assert dict(zip(header, row, strict=True))["coordinateUncertaintyInMeters"] == "1715"
    assert core.get("rowType") == NAMESPACE + "Occurrence"
    assert fromstring(files["eml.xml"]).findtext("dataset/title") == "Finds on the walks of Cast and Company"
    assert gwen.get("/staff/finds/csv/").content.decode() == files["occurrence.csv"]


def test_a_guide_enters_a_find_and_takes_it_out(taught: World, gwen: Client) -> None:
    page = f"/staff/walks/{Offering.objects.get().public_id}/1/finds/"
    with time_machine.travel(taught.walk.ends_at, tick=False):
        form = BeautifulSoup(gwen.get(page).content, "html.parser").find("input", attrs={"name": "event"})
        sent = {"event": form["value"], "taxon": OYSTER, "count": "2", "blur_m": "1000"}
        half = gwen.post(page, sent | {"latitude": "50.9"})
        assert half.status_code == 422
        assert "or neither" in half.content.decode()
        assert gwen.post(page, sent).status_code == 302
        gwen.post(page, {"effort": "x", "complete": "on", "minutes": "90", "people": "8"})
        shown = gwen.get(page).content.decode()
        assert "Complete: 90 minutes, 8 people." in shown
        assert "within 1715&nbsp;m" in shown
        gwen.post(f"{page}{Find.objects.get().pk}/remove/")
    assert not Find.objects.exists()
