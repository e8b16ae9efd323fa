"""The command that says which taxa the accounts do not tell apart."""

import json
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command
from django.utils import timezone

from curriculum.compute.account_format import read_account
from curriculum.compute.audit import Audit, audit
from curriculum.management import chosen
from curriculum.services.load_starter import load_starter
from tests.curriculum.compute.files import vocabulary
from tests.curriculum.garlic import among, write_among

SOME = (
    "pleurotus-ostreatus", "pleurotus-pulmonarius", "pleurocybella-porrigens", "sarcomyxa-serotina",
    "saccharina-latissima", "desmarestia-ligulata", "desmarestia-dudresnayi",
)  # fmt: skip
"""Accounts of fungi and of seaweeds, some of which name each other."""


def told(*args: str) -> str:
    out = StringIO()
    call_command("separation_audit", *args, stdout=out)
    return out.getvalue()


@pytest.fixture
def starter(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with the accounts of SOME, which stands for the files that ship."""
    write_among(SOME, tmp_path)
    monkeypatch.setattr(chosen, "STARTER", tmp_path)
    return tmp_path


def found() -> Audit:
    texts = among(sorted(SOME))
    return audit({taxon: read_account(text, taxon, vocabulary()) for taxon, text in texts.items()}, vocabulary())


def test_it_prints_the_numbers_and_the_worst_pairs(starter: Path):
    lines = told("--starter").splitlines()
    assert lines[0] == f"{found().considered} pairs considered; excluded: {found().excluded['group']} by group."
    assert lines[1].startswith(f"{found().settled} settled, {len(found().thin)} thin, ")
    worst = found().pairs[0]
    assert lines[6].startswith(f"  {worst.verdict}, {worst.danger}: {worst.this}, {worst.other} (")
    assert all(f"  {one.taxon}: {one.what}" in lines for one in found().contradictions)


def test_everything_comes_as_json(starter: Path):
    assert json.loads(told("--starter", "--json")) == json.loads(json.dumps(found().as_json()))


def test_two_taxa_are_told_in_words(starter: Path):
    lines = told("--starter", "pleurotus-ostreatus", "pleurocybella-porrigens").splitlines()
    assert lines[:2] == [
        "Grey Oyster (Pleurotus ostreatus) and Angel's Wings (Pleurocybella porrigens)",
        "Thin: one feature alone tells them apart. Do not rely on it.",
    ]


@pytest.mark.parametrize(
    ("taxa", "sentence"),
    [
        (["pleurotus-ostreatus"], "Nothing was compared: name two taxa"),
        (
            ["pleurotus-ostreatu", "pleurotus-ostreatus"],
            "pleurotus-ostreatu has no account. Expected perhaps",
        ),
    ],
)
def test_what_it_cannot_compare_it_refuses(starter: Path, taxa: list[str], sentence: str):
    with pytest.raises(CommandError, match=sentence):
        told("--starter", *taxa)


@pytest.mark.django_db(transaction=True)
def test_it_reads_the_accounts_in_use(starter: Path):
    load_starter(starter, by="test", now=timezone.now())
    assert told() == told("--starter")


@pytest.mark.django_db
def test_without_accounts_nothing_is_considered():
    assert told().startswith("0 pairs considered; excluded: none.")
