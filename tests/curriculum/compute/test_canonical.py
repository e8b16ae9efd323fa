import hashlib
import json
from typing import Any

import pytest

from curriculum.compute.account_format import read_account
from curriculum.compute.canonical import as_dict, canonical_json, content_hash
from tests.curriculum.compute.files import STARTER, accounts, document, vocabulary

SMALL = """
format = 1
taxon = "peziza"
group = "fungus"
role = "lookalike"
family = "Pezizaceae"
order = "Pezizales"
edibility = "inedible"
summary = "Brown cups."
[[name]]
name = "Pézize"
kind = "accepted"
language = "la"
[season]
months = [12, 1]
[characters]
form = ["ear", "cup"]
[characters.mature]
cap_width = [10.0, 70.5]
"""

SMALL_JSON = (
    '{"account":{"characters":{"form":["cup","ear"],"mature":{"cap_width":[10,70.5]}},"edibility":"inedible",'
    '"family":"Pezizaceae","format":1,"group":"fungus","name":[{"kind":"accepted","language":"la","name":"Pézize"}],'
    '"order":"Pezizales","role":"lookalike","season":{"months":[12,1]},"summary":"Brown cups.","taxon":"peziza"},'
    '"vocabulary":1}'
)


def turned(value: Any) -> Any:
    """The same document with the keys of every table in the opposite order."""
    if isinstance(value, dict):
        return {key: turned(one) for key, one in reversed(value.items())}
    return [turned(one) for one in value] if isinstance(value, list) else value


@pytest.mark.parametrize("taxon", [file.stem for file in STARTER])
def test_an_account_comes_back_from_its_canonical_form_as_it_was(taxon: str):
    account = accounts()[taxon]
    stored = json.loads(canonical_json(account, 1))["account"]
    again = read_account(stored, "stored", vocabulary())
    assert again == account
    assert content_hash(again, 1) == content_hash(account, 1)


def test_the_canonical_form_is_written_out_in_full_once():
    small = read_account(SMALL, "small.toml", vocabulary())
    assert canonical_json(small, 1) == SMALL_JSON
    assert content_hash(small, 1) == hashlib.sha256(SMALL_JSON.encode("utf-8")).hexdigest()


def test_the_order_of_keys_and_of_states_does_not_matter():
    first = document("pleurotus-ostreatus")
    second = turned(first)
    second["characters"]["cap_colour"].reverse()
    hashes = {content_hash(read_account(one, "x", vocabulary()), 1) for one in (first, second)}
    assert len(hashes) == 1


def test_a_composed_and_a_decomposed_letter_are_the_same_text():
    decomposed = SMALL.replace("é", "e\u0301")
    assert content_hash(read_account(decomposed, "x", vocabulary()), 1) == content_hash(
        read_account(SMALL, "x", vocabulary()), 1
    )


@pytest.mark.parametrize(
    ("old", "new"), [("70.5", "70"), ('"ear", "cup"', '"cup"'), ("inedible", "not_recommended"), ("[12, 1]", "[1, 12]")]
)
def test_a_changed_fact_changes_the_hash(old: str, new: str):
    changed = read_account(SMALL.replace(old, new), "x", vocabulary())
    assert content_hash(changed, 1) != content_hash(read_account(SMALL, "x", vocabulary()), 1)


def test_the_version_of_the_vocabulary_is_part_of_the_hash():
    account = accounts()["urtica-dioica"]
    assert content_hash(account, 1) != content_hash(account, 2)


def test_what_follows_from_the_vocabulary_is_not_stored():
    assert "stem_length" not in as_dict(accounts()["calvatia-gigantea"])["characters"]
