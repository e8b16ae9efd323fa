"""The audit for the reviewer: the numbers, the pairs worst first, and each pair in words."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from unittest.mock import patch

import pytest
from bs4 import BeautifulSoup
from django.test import Client

from curriculum.compute.account_text import account_text
from curriculum.compute.audit import Cause, Check, audit
from curriculum.compute.separation import separate
from curriculum.compute.separation_words import in_words
from curriculum.queries import accounts_in_use, vocabulary
from curriculum.services.load_starter import load_starter
from curriculum.services.revise_account import revise_account
from curriculum.views import audit as view
from tests.cast import World
from tests.curriculum.garlic import garlic_files
from tests.pages import signed_in, words_of

AUDIT = "/staff/curriculum/audit/"
PAIR = f"{AUDIT}allium-ursinum/colchicum-autumnale/"


@pytest.fixture(autouse=True)
def _garlic(world: World, tmp_path: Path) -> None:
    load_starter(garlic_files(tmp_path), by="command", now=world.now)


def test_the_numbers_are_those_of_the_audit(world: World) -> None:
    found = audit({key: one.account for key, one in accounts_in_use().items()}, vocabulary())
    page = BeautifulSoup(signed_in(world.rosa).get(AUDIT).content, "html.parser")

    shown = {row.dt.text: int(row.dd.text) for row in page.select("dl.figures > div")}

    assert found.considered
    assert shown == {
        "Pairs considered": found.considered,
        "Settled": found.settled,
        "Thin": len(found.thin),
        "Unsettled: too little recorded": len(found.unsettled(Cause.IGNORANCE)),
        "Unsettled: they overlap": len(found.unsettled(Cause.OVERLAP)),
    }
    for check in Check:
        assert f"{len(found.separators_that_are(check))} {check}" in words_of(str(page).encode())


def test_an_unsettled_pair_comes_first_and_leads_to_its_words(world: World) -> None:
    _blur(world)
    rosa = signed_in(world.rosa)
    page = BeautifulSoup(rosa.get(AUDIT).content, "html.parser")
    first = page.select("table tbody tr")[0]

    accounts = {key: one.account for key, one in accounts_in_use().items()}
    worst = audit(accounts, vocabulary()).pairs[0]
    names = f"{accounts[worst.this].vernacular()} and {accounts[worst.other].vernacular()}"

    assert [cell.text for cell in first.select("th, td")][:2] == [names, "unsettled"]
    assert first.select_one("strong.word").text == "deadly"
    answer = rosa.get(first.a["href"])
    said = in_words(separate(accounts[worst.this], accounts[worst.other], vocabulary()), accounts, vocabulary())
    for line in said:
        words = [part.strip() for part in line.replace("_", " ").partition(":")[::2]]
        assert [part for part in words if part not in words_of(answer.content)] == []


def _blur(world: World) -> None:
    """A draft of wild garlic of which nothing is recorded any more but where it grows."""
    one = accounts_in_use()["allium-ursinum"]
    place = {"all": {key: one.account.value(key) for key in ("habitat", "substrate")}}
    text = account_text(replace(one.account, characters=place, look_order=(), unknown=()))
    revise_account(one.taxon, text, by=world.rosa, now=world.now)


def test_the_audit_is_computed_once_for_each_content(world: World) -> None:
    view._audit.cache_clear()
    rosa = signed_in(world.rosa)
    with patch.object(view, "audit", wraps=audit) as computed:
        rosa.get(AUDIT)
        rosa.get(AUDIT)
        assert computed.call_count == 1
        _blur(world)
        rosa.get(AUDIT)
    assert computed.call_count == 2


def test_the_curriculum_leads_to_it(world: World) -> None:
    assert AUDIT in signed_in(world.rosa).get("/staff/curriculum/").content.decode()


@pytest.mark.parametrize("address", [AUDIT, PAIR])
def test_reading_changes_nothing_and_sending_is_refused(world: World, address: str) -> None:
    assert signed_in(world.rosa).post(address).status_code == 405


@pytest.mark.parametrize("address", [AUDIT, PAIR])
def test_guides_and_strangers_are_not_let_in(world: World, address: str) -> None:
    assert signed_in(world.gwen.user).get(address).status_code == 403
    assert Client().get(address).status_code == 302


@pytest.mark.parametrize("address", [f"{AUDIT}allium-ursinum/allium-ursinum/", f"{AUDIT}allium-ursinum/no-such-taxon/"])
def test_a_pair_that_is_none_is_not_found(world: World, address: str) -> None:
    assert signed_in(world.rosa).get(address).status_code == 404
