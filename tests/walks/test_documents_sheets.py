"""Species sheets in both variants, read back from the PDF: two pages, and danger before the kitchen."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime

import pytest
from django.template import engines

from curriculum.models import Document
from curriculum.printed import LARGE, STANDARD, PrintedSheet, printed_sheets, sheet_document, want_sheet
from curriculum.queries import accounts_in_use, jurisdictions
from tests.cast import World
from tests.walks.printed import Read, faults_of_accessibility, printed, sizes_of_letters, teach
from tests.walks.test_documents_booklet import HOSTILE

SHEETS = """{% extends "print/base.html" %}{% block title %}Sheets{% endblock %}
{% block main %}{% for one in every %}{% include "print/sheet.html" %}{% endfor %}{% endblock %}"""
FULLEST = ["aegopodium-podagraria", "amanita-phalloides", "agaricus-campestris", "craterellus-tubaeformis"]
OTHERS = ["bryonia-dioica", "alaria-esculenta", "aesculus-hippocastanum", "crataegus-monogyna", "pleurotus-ostreatus"]
KITCHEN = "Before you eat any"


@pytest.mark.parametrize("variant", [STANDARD, LARGE])
def test_the_fullest_sheets_are_a_leaf_and_warn_before_the_kitchen(world: World, now: datetime, variant: str) -> None:
    """Those with most to say, and some of each group."""
    teach(world, now=now)
    check_sheets(printed_sheets([*FULLEST, *OTHERS], accounts_in_use(), variant))


@pytest.mark.slow
@pytest.mark.parametrize("variant", [STANDARD, LARGE])
def test_every_sheet_is_a_leaf_and_warns_before_the_kitchen(world: World, now: datetime, variant: str) -> None:
    teach(world, now=now)
    accounts = accounts_in_use()
    every = printed_sheets(accounts, accounts, variant)
    for start in range(0, len(every), 20):
        check_sheets(every[start : start + 20])


def check_sheets(every: list[PrintedSheet]) -> None:
    """Two pages at most; every danger by name and word, and the emergency steps, on the first, before the kitchen."""
    whole = set_together(every)
    faults = [fault for one in every for fault in faults_of(one, whole)]
    assert faults == []
    assert sum(len(one.sheet.dangers) for one in every) > 5


def set_together(every: list[PrintedSheet]) -> Read:
    context = {"every": every, "law": jurisdictions()["GB-ENG"], "mark": None, "large": every[0].large}
    return printed(engines["django"].from_string(SHEETS).render(context))


def faults_of(one: PrintedSheet, whole: Read) -> Iterator[str]:
    name = plain(one.sheet.common)
    pages = whole.sheet(name)
    first = pages[0].partition(KITCHEN)[0]
    if len(pages) > 2:
        yield f"{name}: {len(pages)} pages"
    if "Call 999 or 112" not in first:
        yield f"{name}: no emergency steps before the kitchen"
    if one.sheet.word and f"{one.sheet.word.upper()} Never for eating" not in pages[0].partition(name)[0]:
        yield f"{name}: its danger word does not stand above its name"
    for danger in one.sheet.dangers:
        if close(f"{danger.word.upper()} {danger.name}") not in close(first):
            yield f"{name}: {danger.name} does not stand before the kitchen"
    for caveat in one.sheet.caveats:
        if plain(caveat)[:24] not in " ".join(pages):  # a caveat may go on in the next column
            yield f"{name}: a caveat is missing: {caveat}"


def plain(text: str) -> str:
    return " ".join(text.replace("’", "'").split())


def close(text: str) -> str:
    """Without spaces: a line may break after a hyphen."""
    return "".join(plain(text).split())


def test_large_print_is_16_point_everywhere(world: World, now: datetime) -> None:
    """UK Association for Accessible Formats, MS03 (2012): 16 point or more; labels and page numbers ideally too."""
    teach(world, now=now)
    accounts = accounts_in_use()
    html, _ = sheet_document("pleurotus-ostreatus", accounts, LARGE)
    assert round(min(sizes_of_letters(printed(html).content)), 2) >= 16
    html, _ = sheet_document("pleurotus-ostreatus", accounts, STANDARD)
    assert min(sizes_of_letters(printed(html).content)) < 16


def test_no_letters_are_smaller_than_7_point(world: World, now: datetime) -> None:
    """The labels of drawings among them."""
    teach(world, now=now)
    html, _ = sheet_document("pleurotus-ostreatus", accounts_in_use(), STANDARD)
    assert min(sizes_of_letters(printed(html).content)) >= 7


def test_a_sheet_is_tagged_and_its_fonts_are_embedded(world: World, now: datetime) -> None:
    teach(world, now=now)
    for variant in (STANDARD, LARGE):
        html, _ = sheet_document("pleurotus-ostreatus", accounts_in_use(), variant)
        assert len(printed(html).pages) == 2
        assert faults_of_accessibility(printed(html).content) == []


@pytest.mark.parametrize("variant", [STANDARD, LARGE])
def test_hostile_words_of_an_author_move_no_warning(world: World, now: datetime, variant: str) -> None:
    """A summary and a caveat of thousands of letters, with markup and marks that turn the reading direction."""
    teach(world, now=now)
    accounts = accounts_in_use()
    use = accounts["amanita-phalloides"]
    caveats = (replace(use.account.caveats[0], text=HOSTILE), *use.account.caveats[1:])
    spoilt = replace(use, account=replace(use.account, summary=HOSTILE, caveats=caveats))
    html, _ = sheet_document("amanita-phalloides", {**accounts, "amanita-phalloides": spoilt}, variant)
    assert "\u202e" not in html
    assert "<script>" not in html
    first = printed(html).pages[0]
    assert "DEADLY Never for eating" in first
    assert "DEADLY Destroying Angel" in first
    assert "Do not make anybody vomit. Not sure: NHS 111" in first


def test_what_is_left_out_is_said(world: World, now: datetime) -> None:
    teach(world, now=now)
    (one,) = printed_sheets(["aegopodium-podagraria"], accounts_in_use(), LARGE)
    assert one.room.left_out
    text = " ".join(set_together([one]).pages)
    assert "Left out here, and on the page behind the code: " in text
    for words in one.room.left_out:
        assert words in text


def test_a_pair_is_drawn_where_there_is_room(world: World, now: datetime) -> None:
    teach(world, now=now)
    html, _ = sheet_document("pleurotus-ostreatus", accounts_in_use(), STANDARD)
    assert "<title>Grey Oyster and Angel" in html


def test_a_sheet_is_one_document_a_variant_and_holds_both_sides_of_each_pair(world: World, now: datetime) -> None:
    teach(world, now=now)
    documents = [want_sheet("pleurotus-ostreatus", now, variant) for variant in (STANDARD, LARGE, STANDARD)]
    assert documents[0] == documents[2]
    assert documents[0].manifest_hash != documents[1].manifest_hash
    assert Document.objects.count() == 2
    assert "pleurocybella-porrigens" in documents[1].versions.values_list("taxon__key", flat=True)
