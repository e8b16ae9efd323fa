"""The list of species, the page of one, and the cautions above them all."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from bs4 import BeautifulSoup
from django.test import Client

from curriculum.models import SignOff, Taxon
from curriculum.queries import accounts_in_use
from curriculum.services.load_starter import load_starter
from foraywright.floor.models import Business
from foraywright.floor.numbering import give_slug
from tests.cast import World
from tests.conftest import NOW
from tests.pages import words_of
from walks.models import Site, ThemeTaxon

pytestmark = pytest.mark.usefixtures("september")

OYSTER = "/species/pleurotus-ostreatus/"


@pytest.fixture
def taught(world: World) -> World:
    load_starter(by="command", now=world.now)
    return world


def rows(client: Client, query: str = "") -> list[str]:
    page = BeautifulSoup(client.get("/species/", {"q": query} if query else {}).content, "html.parser")
    return [row.find("a").get_text() for row in page.find_all("div", class_="species-row")]


def test_every_account_is_listed_once_under_its_group(client: Client, taught: World) -> None:
    assert len(rows(client)) == len(accounts_in_use())
    headings = [h.get_text() for h in BeautifulSoup(client.get("/species/").content, "html.parser").find_all("h2")]
    assert headings == ["Fungi", "Plants", "Seaweeds"]


@pytest.mark.parametrize("words", ["GREY oyster", "pleurotus ostr", "Oyster Mushroom"])
def test_any_name_finds_it_whatever_its_case(client: Client, taught: World, words: str) -> None:
    assert "Grey Oyster" in rows(client, words)
    assert "Death Cap" not in rows(client, words)


def test_nothing_found_says_what_that_does_not_mean(client: Client, taught: World) -> None:
    text = words_of(client.get("/species/", {"q": "<zzz>"}).content)
    assert "0 species bear a name with “<zzz>”." in text
    assert "that says nothing of its safety" in text


def test_the_danger_is_a_word_in_the_list(client: Client, taught: World) -> None:
    page = BeautifulSoup(client.get("/species/", {"q": "death cap"}).content, "html.parser")
    assert page.find("div", class_="species-row").find("strong", class_="word").get_text() == "deadly"


def test_the_dangerous_lookalike_stands_before_any_kitchen_note(client: Client, taught: World) -> None:
    text = words_of(client.get(OYSTER).content)
    assert text.index("deadly lookalike: Angel's Wings") < text.index("Before you eat any")
    assert "rotten conifer wood" in text
    assert "From memory:" in text
    assert "A teaching aid, never an identification authority." in text


def test_a_deadly_species_begins_with_the_word_and_says_what_to_do(client: Client, taught: World) -> None:
    page = BeautifulSoup(client.get("/species/amanita-phalloides/").content, "html.parser")
    first = page.find("div", class_="danger")
    assert first.find("strong", class_="word").get_text() == "deadly"
    assert "First signs after" in first.get_text()
    assert first.find("a", href="/cautions/#ill")
    assert "Before you eat any" not in page.get_text()


def test_the_page_says_who_signed_or_that_nobody_has(client: Client, taught: World) -> None:
    assert "Draft, not signed" in words_of(client.get(OYSTER).content)
    SignOff.objects.create(
        version=accounts_in_use()["pleurotus-ostreatus"].version,
        reviewer=taught.rosa,
        reviewer_name="Rosa",
        competence="mycologist",
        kind=SignOff.Kind.DEMONSTRATION,
        signed_at=NOW,
        review_by=date(2027, 9, 14),
        rules_version=1,
    )
    assert "Demonstration signature Checked by nobody." in words_of(client.get(OYSTER).content)


def test_walks_that_teach_it_are_named(client: Client, taught: World) -> None:
    assert "None on the programme just now." in words_of(client.get(OYSTER).content)
    ThemeTaxon.objects.create(theme=taught.theme, taxon=Taxon.objects.get(key="pleurotus-ostreatus"))
    assert "The bare wood Saturday 3 October 2026, Cast Wood" in words_of(client.get(OYSTER).content)


def test_an_old_address_leads_to_the_present_one(client: Client, taught: World) -> None:
    taxon = Taxon.objects.get(key="pleurotus-ostreatus")
    give_slug("species", "grey-oyster", taxon.public_id, now=NOW + timedelta(seconds=1))
    answer = client.get(OYSTER)
    assert (answer.status_code, answer["Location"]) == (301, "/species/grey-oyster/")
    assert client.get("/species/no-such-thing/").status_code == 404


def test_every_species_has_a_page_and_no_link_on_it_is_dead(client: Client, taught: World) -> None:
    for key in accounts_in_use():
        page = BeautifulSoup(client.get(f"/species/{key}/").content, "html.parser")
        links = {a["href"] for a in page.main.find_all("a") if a["href"].startswith("/species/")}
        assert all(link == "/species/" or link.strip("/").split("/")[1] in accounts_in_use() for link in links)


def test_the_walks_page_names_what_may_be_met_and_what_may_kill(client: Client, taught: World) -> None:
    for place, key in enumerate(("pleurotus-ostreatus", "allium-ursinum")):
        ThemeTaxon.objects.create(theme=taught.theme, taxon=Taxon.objects.get(key=key), place=place)
    Site.objects.update(habitats=["broadleaved_wood"])
    text = words_of(client.get("/walks/the-bare-wood-2026-10-03/").content)
    hoped, not_now = text.index("What we hope to meet"), text.index("Not expected this week:")
    assert hoped < text.index("Grey Oyster", hoped) < not_now
    assert "Wild Garlic" in text[not_now : not_now + 60] or "Ramsons" in text[not_now : not_now + 60]
    assert "Death Cap" in text[text.index("Deadly") :]


@pytest.mark.parametrize(
    ("jurisdiction", "numbers", "law"),
    [("GB-ENG", "999 or 112", "is not theft"), ("IE", "112 or 999", ""), ("XX", "the emergency number", "We hold no")],
)
def test_the_cautions_follow_the_place(client: Client, world: World, jurisdiction: str, numbers: str, law: str) -> None:
    Business.objects.update(jurisdiction=jurisdiction)
    text = words_of(client.get("/cautions/").content)
    assert numbers in text
    assert law in text
    assert "Do not make anybody vomit." in text
