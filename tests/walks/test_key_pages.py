"""The key to a walk: on its page, question by question, and in the booklet."""

from __future__ import annotations

from pathlib import Path

import pytest
from bs4 import BeautifulSoup
from django.db import connection
from django.template.loader import render_to_string
from django.test import Client
from django.test.utils import CaptureQueriesContext

from bookings.services.call_off_walk import call_off_walk
from curriculum.compute.key_words import BOTH
from curriculum.compute.separation import Verdict, is_dangerous, separate
from curriculum.compute.universe import may_be_confused
from curriculum.models import Taxon
from curriculum.queries import accounts_in_use, vocabulary
from curriculum.services.load_starter import load_starter
from foraywright.floor.numbering import give_slug
from tests.bookings.test_walk_page import WALK
from tests.cast import World
from tests.conftest import NOW
from tests.curriculum.garlic import GARLIC, write_among
from tests.pages import words_of
from walks.documents import booklet
from walks.models import Offering, ThemeTaxon, Walk
from walks.queries import with_everything
from walks.walk_key import GroupKey, Names, keys_of, shown

pytestmark = pytest.mark.usefixtures("september")

KEY = f"{WALK}key/"
STEP = f"{KEY}plants/"
HEDGE = ("smyrnium-olusatrum", "oenanthe-crocata", "conium-maculatum", "cicuta-virosa", "pastinaca-sativa")


def teach(world: World, folder: Path, taxa: tuple[str, ...]) -> World:
    """Load the accounts of `taxa`; the theme wants the first."""
    load_starter(write_among(taxa, folder), by="command", now=world.now)
    ThemeTaxon.objects.create(theme=world.theme, taxon=Taxon.objects.get(key=taxa[0]), place=0)
    return world


@pytest.fixture
def garlic(world: World, tmp_path: Path) -> World:
    return teach(world, tmp_path, GARLIC)


@pytest.fixture
def hedge(world: World, tmp_path: Path) -> World:
    return teach(world, tmp_path, HEDGE)


def the_key() -> GroupKey:
    [key] = keys_of(Walk.objects.get(), accounts_in_use())
    return key


def remaining(content: bytes) -> set[str]:
    """The names under "still possible"."""
    heading = BeautifulSoup(content, "html.parser").find("h2", string=lambda text: "still possible" in text)
    return {one.get_text() for one in heading.find_next("ul").select("a")}


def names_of(taxa: tuple[str, ...]) -> set[str]:
    accounts = accounts_in_use()
    return {accounts[one].account.vernacular() for one in taxa}


def asked(content: bytes) -> str:
    """The character that the form asks about; empty where it asks nothing."""
    button = BeautifulSoup(content, "html.parser").find("button", value="cannot_tell")
    return button["name"] if button else ""


def test_a_key_holds_what_is_wanted_and_what_harms_and_looks_like_it(garlic: World) -> None:
    assert the_key().group == "plant"
    assert set(the_key().inside) == set(GARLIC)


def test_the_page_has_every_couplet_and_says_to_follow_both(client: Client, garlic: World) -> None:
    content = client.get(KEY).content
    page = BeautifulSoup(content, "html.parser")
    couplets = the_key().key.couplets
    assert couplets
    assert BOTH in words_of(content)
    for one in couplets:
        item = page.find(id=f"plants-{one.number}")
        assert len(item.select("ul > li")) == 2
    assert all(page.find(id=link["href"][1:]) for link in page.select("ol a[href^='#']"))
    assert names_of(GARLIC) <= {link.get_text() for link in page.select("main a[href^='/species/']")}


def test_every_end_names_what_cannot_be_told_apart(client: Client, hedge: World) -> None:
    inside, text = the_key().inside, words_of(client.get(KEY).content)
    unsettled = {
        (one, other)
        for one in inside
        for other in inside
        if one != other and separate(inside[one], inside[other], vocabulary()).verdict is Verdict.UNSETTLED
    }
    key = shown(the_key(), Names(accounts_in_use()))
    ends = [lead.ending for couplet in key.couplets for lead in couplet.leads if lead.ending] or [key.ending]
    for end in ends:
        here = {one.taxon for one in end.taxa}
        said = here | {one.taxon for one in end.unsettled}
        assert {other for one, other in unsettled if one in here} <= said
    assert unsettled
    assert "do not tell them apart" in text


def test_every_end_names_what_harms_outside_the_key_and_is_not_told_from_it(client: Client, world: World) -> None:
    load_starter(by="command", now=world.now)
    accounts, named = accounts_in_use(), 0
    for one in keys_of(Walk.objects.get(), accounts, most=6):
        key = shown(one, Names(accounts))
        for end in (lead.ending for couplet in key.couplets for lead in couplet.leads if lead.ending):
            said = {outside.taxon for outside in end.outside}
            for taxon in (taxon for taxon in one.left_out if taxon in accounts):
                pairs = [(one.inside[here.taxon], accounts[taxon].account) for here in end.taxa]
                met = [pair for pair in pairs if may_be_confused(*pair, vocabulary())]
                near = any(separate(*pair, vocabulary()).verdict is not Verdict.SETTLED for pair in pairs)
                assert (taxon in said) == bool(met and near)
            named += len(said)
    assert named


def test_page_questions_and_paper_hold_the_same(client: Client, world: World) -> None:
    load_starter(by="command", now=world.now)
    accounts = accounts_in_use()
    paper = booklet(with_everything(Walk.objects.all()).get(), accounts)[0]
    for one in keys_of(Walk.objects.get(), accounts):
        key = shown(one, Names(accounts))
        step = client.get(f"{KEY}{key.address}/").content
        assert remaining(step) == {named.name for named in key.taxa}
        assert f"The {len(key.taxa)} in this key" in paper


def test_lookalikes_that_harm_are_never_left_out_for_shortness(garlic: World) -> None:
    [key] = keys_of(Walk.objects.get(), accounts_in_use(), most=1)
    assert set(key.inside) == set(GARLIC)


def test_the_page_names_what_harms_and_is_not_in_the_key(client: Client, world: World) -> None:
    load_starter(by="command", now=world.now)
    text, names = words_of(client.get(KEY).content), Names(accounts_in_use())
    for key in keys_of(Walk.objects.get(), accounts_in_use()):
        assert key.left_out
        for one in names.of(key.left_out):
            assert f"{one.word} {one.name}".strip() in text.partition("These were not in the key")[2]


def test_a_full_key_knows_the_dangers_that_it_leaves_out(world: World) -> None:
    load_starter(by="command", now=world.now)
    [key] = [one for one in keys_of(Walk.objects.get(), accounts_in_use(), most=6) if one.group == "fungus"]
    accounts = accounts_in_use()
    feared = {taxon for taxon in key.left_out if taxon in accounts}
    assert len(key.inside) <= 6
    assert feared
    assert not feared & set(key.inside)
    assert all(is_dangerous(accounts[taxon].account, vocabulary()) for taxon in feared)


@pytest.mark.parametrize("taxa", [GARLIC, HEDGE])
def test_cannot_tell_keeps_all_and_comes_to_an_end(
    client: Client, world: World, tmp_path: Path, taxa: tuple[str, ...]
) -> None:
    teach(world, tmp_path, taxa)
    answers: dict[str, str] = {}
    content = client.get(STEP).content
    while question := asked(content):
        assert question not in answers
        answers[question] = "cannot_tell"
        content = client.get(STEP, answers).content
        assert remaining(content) == names_of(taxa)
    assert answers
    assert "No further question of ours would help." in words_of(content)


def test_an_answer_rules_out_and_says_which_and_can_be_taken_back(client: Client, garlic: World) -> None:
    content = client.get(STEP, {"leaf_shape": "arrow_base"}).content
    assert remaining(content) == names_of(("arum-maculatum",))
    character = vocabulary().characters["leaf_shape"]
    assert f"you answered “{character.label}: {character.states['arrow_base'].label}”" in words_of(content)
    [back] = BeautifulSoup(content, "html.parser").select("li > a:has(.visually-hidden)")
    assert remaining(client.get(back["href"]).content) == names_of(GARLIC)


def test_what_one_kind_of_evidence_rules_out_is_not_trusted(client: Client, garlic: World) -> None:
    content = client.get(STEP, {"leaf_shape": "arrow_base"}).content
    rows = [row.get_text(" ") for row in BeautifulSoup(content, "html.parser").find_all("li")]
    beware = {
        name for name in names_of(GARLIC) for row in rows if name in row and "as if it were still possible" in row
    }
    assert beware == names_of(("colchicum-autumnale", "convallaria-majalis"))


def test_a_second_look_asks_for_another_kind_of_evidence(client: Client, garlic: World) -> None:
    content = client.get(STEP, {"leaf_shape": "arrow_base"}).content
    question = vocabulary().characters[asked(content)]
    assert "A second look" in words_of(content)
    assert question.evidence_group != vocabulary().characters["leaf_shape"].evidence_group


def test_answers_stand_in_the_form_and_in_its_order(client: Client, garlic: World) -> None:
    page = BeautifulSoup(client.get(f"{STEP}?flower_colour=white&flower_colour=cream").content, "html.parser")
    kept = [(one["name"], one["value"]) for one in page.select("form input[type=hidden]")]
    assert kept == [("flower_colour", "white"), ("flower_colour", "cream")]


@pytest.mark.parametrize("typed", ["wide", "-3", "0", "inf", "nan", "1e999"])
def test_what_is_no_length_is_asked_again_and_kept(client: Client, garlic: World, typed: str) -> None:
    character = next(
        one
        for one in vocabulary().characters_of("plant").values()
        if one.kind == "range" and one.effort in ("glance", "hand", "cut")
    )
    answer = client.get(STEP, {character.key: typed})
    page = BeautifulSoup(answer.content, "html.parser")
    assert (answer.status_code, page.find("input", {"name": character.key})["value"]) == (200, typed)
    assert "is no length" in words_of(answer.content)
    assert remaining(answer.content) == names_of(GARLIC)


@pytest.mark.parametrize("query", ["flower_colour=%3Cb%3E", "flower_colour=white&flower_colour=nothing", "utm=x", "x"])
def test_an_answer_that_there_is_not_rules_nothing_out(client: Client, garlic: World, query: str) -> None:
    assert remaining(client.get(f"{STEP}?{query}").content) == names_of(GARLIC)


def test_no_page_says_that_anything_may_be_eaten(client: Client, world: World) -> None:
    load_starter(by="command", now=world.now)
    [state] = accounts_in_use()["conium-maculatum"].account.states("flower_colour")[:1]
    for address in (KEY, f"{KEY}fungi/", STEP, f"{STEP}?flower_colour={state}", f"{STEP}?flower_colour=cannot_tell"):
        content = client.get(address)
        assert content.status_code == 200
        text = words_of(content.content).lower()
        assert "still possible" in text or "follow both" in text
        for word in ("edible", " safe", "good to eat"):
            assert word not in text


def test_the_walks_page_leads_to_its_key(client: Client, garlic: World) -> None:
    assert f'href="{KEY}"' in client.get(WALK).content.decode()


def test_a_walk_that_teaches_nothing_there_says_so(client: Client, world: World) -> None:
    assert "there is no key to it" in words_of(client.get(KEY).content)
    assert client.get(STEP).status_code == 404


def test_only_a_published_walk_has_a_key(client: Client, garlic: World) -> None:
    Offering.objects.update(state=Offering.State.DRAFT, published_at=None)
    assert [client.get(one).status_code for one in (KEY, STEP)] == [404, 404]
    Offering.objects.update(state=Offering.State.PUBLISHED, published_at=NOW)
    call_off_walk(garlic.offering, why="storm", by=garlic.olive, now=NOW)
    assert [client.get(one).status_code for one in (KEY, STEP)] == [404, 404]


def test_what_is_not_there_or_not_asked_for_rightly(client: Client, garlic: World) -> None:
    assert client.get(f"{KEY}lichens/").status_code == 404
    assert client.get(f"{KEY}seaweeds/").status_code == 404
    assert [client.post(one).status_code for one in (KEY, STEP)] == [405, 405]


def test_an_old_address_leads_on_with_its_answers(client: Client, garlic: World) -> None:
    give_slug("offering", "the-bare-beeches", garlic.offering.public_id, now=NOW.replace(hour=10))
    answer = client.get(f"{STEP}?flower_colour=white")
    assert answer.status_code == 301
    assert answer["Location"] == "/walks/the-bare-beeches/key/plants/?flower_colour=white"


@pytest.mark.parametrize("address", [KEY, STEP])
def test_queries_do_not_grow_with_the_accounts(client: Client, garlic: World, tmp_path: Path, address: str) -> None:
    def queries() -> int:
        client.get(address)
        with CaptureQueriesContext(
            connection,
        ) as seen:
            client.get(address)
        return len(seen)

    few = queries()
    more = tmp_path / "more"
    more.mkdir()
    load_starter(write_among(HEDGE, more), by="command", now=NOW)
    ThemeTaxon.objects.create(theme=garlic.theme, taxon=Taxon.objects.get(key=HEDGE[0]), place=1)
    assert queries() == few


def test_the_booklets_part_says_the_same_on_paper(garlic: World) -> None:
    accounts = accounts_in_use()
    keys = [shown(one, Names(accounts)) for one in keys_of(Walk.objects.get(), accounts)]
    context = {"keys": keys, "both": BOTH, "key_address": "https://walks.example.org/k/", "printed_taxa": GARLIC[:1]}
    page = BeautifulSoup(render_to_string("print/key.html", context), "html.parser")
    assert keys[0].printable
    assert len(page.select("tbody")) == len(keys[0].couplets)
    assert BOTH in page.get_text()
    assert {link["href"] for link in page.select("a")} == {f"#sheet-{GARLIC[0]}"}
    assert "walks.example.org" not in page.get_text()


def test_a_key_too_long_for_paper_says_where_it_is(world: World) -> None:
    load_starter(by="command", now=world.now)
    accounts = accounts_in_use()
    keys = [shown(one, Names(accounts)) for one in keys_of(Walk.objects.get(), accounts, most=32)]
    assert not keys[0].printable
    context = {"keys": keys[:1], "both": BOTH, "key_address": "https://walks.example.org/k/", "printed_taxa": ()}
    text = render_to_string("print/key.html", context)
    assert "too long for paper. It is at https://walks.example.org/k/." in text
    assert "<table" not in text
