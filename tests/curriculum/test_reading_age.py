"""Sheets go home with families: what is written in accounts and in the fixed texts of a sheet reads easily."""

from __future__ import annotations

import re

import pytest
from django.template.loader import render_to_string

from curriculum.compute.account import Account
from curriculum.compute.apart import SHORT, VERDICTS
from curriculum.queries import jurisdictions
from tests.curriculum.compute.files import accounts
from tests.curriculum.reading import grade

GRADE_OF_AN_ACCOUNT = 7
"""About twelve years of age (our rule: the age from which a child may read a sheet alone)."""
GRADE_OF_A_NOTE = 15
"""One sentence alone swings far: a list of illnesses counts as hard. Beyond this it is two sentences."""


def test_the_published_worked_example() -> None:
    """13 words and 24 syllables give 11.3 (Flesch-Kincaid readability tests, encyclopaedia article, read for this)."""
    sentence = "The Australian platypus is seemingly a hybrid of a mammal and reptilian creature."
    assert round(grade(sentence), 1) == 11.3


def test_hard_words_and_long_sentences_are_noticed() -> None:
    assert grade("Cook it well. Eat a bit.") < 1
    assert grade("Gastrointestinal manifestations characteristically necessitate hospitalisation.") > GRADE_OF_A_NOTE


@pytest.mark.parametrize("account", accounts().values(), ids=lambda one: one.taxon)
def test_an_account_reads_easily(account: Account) -> None:
    notes = [note if note.endswith(".") else f"{note}." for note in notes_of(account)]
    assert grade(" ".join(notes)) <= GRADE_OF_AN_ACCOUNT
    assert [note for note in notes if len(note.split()) > 12 and grade(note) > GRADE_OF_A_NOTE] == []


def notes_of(account: Account) -> list[str]:
    """What a person wrote in words: not the characters, which are terms of the field."""
    poison = account.toxicology.note if account.toxicology else ""
    lookalikes = (one.note for one in account.lookalikes)
    return [one for one in (account.summary, poison, *(one.text for one in account.caveats), *lookalikes) if one]


@pytest.mark.parametrize("jurisdiction", ["GB-ENG", "GB-WLS", "GB-SCT", "GB-NIR", "IE"])
def test_the_emergency_steps_read_easily(jurisdiction: str) -> None:
    html = render_to_string("print/parts/if_eaten.html", {"law": jurisdictions()[jurisdiction]})
    assert grade(re.sub(r"<[^>]+>", " ", html)) <= GRADE_OF_AN_ACCOUNT


def test_verdicts_read_easily() -> None:
    assert grade(" ".join([*VERDICTS.values(), *SHORT.values()])) <= GRADE_OF_AN_ACCOUNT
