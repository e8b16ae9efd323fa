"""Slips of the pen that could kill: each is made in a real account, and something must stop it.

What stops it: the reader of accounts refuses it; the audit of the spoilt accounts, alone, finds what was not there
before; or the comparison with the version before names it for the reviewer. Who stops what is counted: 38 of 38, of
which 24 without knowing the version before and 14 by the comparison alone (when this was written).
"""

from collections.abc import Callable
from functools import cache
from typing import Any

import pytest

from curriculum.compute.account import Account
from curriculum.compute.account_changes import to_be_reviewed
from curriculum.compute.account_format import AccountRefused, read_account
from curriculum.compute.audit import Audit, audit
from tests.curriculum.compute.files import accounts, document, vocabulary

Document = dict[str, Any]
Edit = Callable[[Document], None]
READER, AUDIT, REVIEW, NOBODY = "reader", "audit alone", "review of the change", "nobody"


def values(stage: str = "", **given: Any) -> Edit:
    """Record these values, at one stage or at all, and no others of the same characters."""

    def edit(one: Document) -> None:
        for key in given:
            without(key)(one)
        (one["characters"].setdefault(stage, {}) if stage else one["characters"]).update(given)

    return edit


def without(key: str) -> Edit:
    """Drop a character wherever it is recorded."""

    def edit(one: Document) -> None:
        for table in (one["characters"], *(one["characters"].get(stage, {}) for stage in ("young", "mature"))):
            table.pop(key, None)

    return edit


def places(**given: Any) -> Edit:
    return lambda one: one["habitat"].update(given)


def facts(**given: Any) -> Edit:
    return lambda one: one.update(given)


def no_lookalike(taxon: str) -> Edit:
    return lambda one: one.update(lookalike=[row for row in one["lookalike"] if row.get("taxon") != taxon])


def lookalike(place: int, **given: Any) -> Edit:
    return lambda one: one["lookalike"][place].update(given)


def harmless_poison(one: Document) -> None:
    one.update(edibility="inedible", role="lookalike")
    del one["toxicology"]


def swapped_words(one: Document) -> None:
    for row in one["lookalike"][0]["separators"]:
        row["this"], row["other"] = row["other"], row["this"]


def no_poisoning(one: Document) -> None:
    del one["toxicology"]


def no_caveat(one: Document) -> None:
    one["caveat"] = one["caveat"][1:]


def reversed_range(one: Document) -> None:
    one["characters"]["mature"]["cap_width"].reverse()


MUTANTS: dict[str, tuple[str, Edit]] = {
    "cap of the grey oyster in centimetres": ("pleurotus-ostreatus", values("mature", cap_width=[4, 20])),
    "stem of the death cap in centimetres": ("amanita-phalloides", values("mature", stem_width=[0.8, 3])),
    "stem of the chanterelle in centimetres": ("cantharellus-cibarius", values("mature", stem_length=[3, 8])),
    "cap of the funeral bell in centimetres": ("galerina-marginata", values("mature", cap_width=[0.5, 8])),
    "acid weed in centimetres": ("desmarestia-ligulata", values("mature", frond_width=[0.2, 1.5])),
    "height of the elder in metres": ("sambucus-nigra", values(plant_height=[2, 15])),
    "cap of angel's wings narrowed": ("pleurocybella-porrigens", values("mature", cap_width=[15, 30])),
    "cap of the funeral bell narrowed": ("galerina-marginata", values("mature", cap_width=[5, 20])),
    "bag of the death cap dropped": ("amanita-phalloides", values(volva="none")),
    "base of the death cap not recorded": ("amanita-phalloides", without("volva")),
    "base of the funeral bell given a bag": ("galerina-marginata", values(volva="bag")),
    "underside of the webcap mistaken": ("cortinarius-rubellus", values(underside="folds")),
    "flesh of the devil's bolete no longer blue": ("rubroboletus-satanas", values(flesh_change="none")),
    "gills of the livid entoloma mistaken": ("entoloma-sinuatum", values(gill_attachment="free")),
    "leaves of the meadow saffron mistaken": ("colchicum-autumnale", values(leaf_arrangement="opposite")),
    "funeral bell inedible": ("galerina-marginata", facts(edibility="inedible")),
    "death cap poisonous only": ("amanita-phalloides", facts(edibility="poisonous")),
    "lily of the valley not recommended": ("convallaria-majalis", facts(edibility="not_recommended", role="lookalike")),
    "angel's wings inedible and not poisonous": ("pleurocybella-porrigens", harmless_poison),
    "funeral bell taught": ("galerina-marginata", facts(role="taught", tier="beginner")),
    "habitat of the death cap misspelt": ("amanita-phalloides", places(habitat=["broadleafed_wood"])),
    "habitat of the funeral bell on a saltmarsh": ("galerina-marginata", places(habitat=["saltmarsh"])),
    "habitat of lords-and-ladies on a shore": ("arum-maculatum", places(habitat=["rocky_shore"])),
    "angel's wings on beech": ("pleurocybella-porrigens", places(host=["beech"], substrate=["broadleaf_deadwood"])),
    "angel's wings struck off at the grey oyster": ("pleurotus-ostreatus", no_lookalike("pleurocybella-porrigens")),
    "meadow saffron struck off at wild garlic": ("allium-ursinum", no_lookalike("colchicum-autumnale")),
    "devil's bolete struck off at the cep": ("boletus-edulis", no_lookalike("rubroboletus-satanas")),
    "water-dropwort struck off at the elder": ("sambucus-nigra", no_lookalike("oenanthe-crocata")),
    "name of a lookalike misspelt": ("calvatia-gigantea", lookalike(0, taxon="amanita-phaloides")),
    "less feared of a lookalike": ("collybia-nuda", lookalike(3, feared="inedible")),
    "words of a separator swapped": ("pleurotus-ostreatus", swapped_words),
    "poisoning of the death cap dropped": ("amanita-phalloides", no_poisoning),
    "first caveat of the elder dropped": ("sambucus-nigra", no_caveat),
    "season of the meadow saffron cut": ("colchicum-autumnale", facts(season={"months": [9]})),
    "character misspelt": ("galerina-marginata", values(rign="narrow")),
    "state misspelt": ("galerina-marginata", values(ring="narow")),
    "range the wrong way round": ("galerina-marginata", reversed_range),
    "unknown and recorded at once": ("amanita-phalloides", facts(unknown=["stem_base"])),
}

WITHOUT_THE_VERSION_BEFORE = 24

HARMLESS: dict[str, tuple[str, Edit]] = {
    "a better summary": ("pleurotus-ostreatus", facts(summary="A grey or brown shell on broadleaved wood.")),
    "a wider cap": ("calvatia-gigantea", values("mature", cap_width=[60, 900])),
    "one more disagreement": ("boletus-edulis", facts(disagreements=["The cap may be paler."])),
    "one more month": ("palmaria-palmata", facts(season={"months": list(range(1, 13)), "peak": [5]})),
}


@cache
def before() -> Audit:
    return audit(accounts(), vocabulary())


def spoilt(taxon: str, edit: Edit) -> dict[str, Account]:
    one = document(taxon)
    edit(one)
    return accounts() | {taxon: read_account(one, f"{taxon}.toml", vocabulary())}


@cache
def stopped_by(name: str) -> str:
    taxon, edit = MUTANTS[name]
    try:
        after = spoilt(taxon, edit)
    except AccountRefused:
        return READER
    if audit(after, vocabulary()).findings - before().findings:
        return AUDIT
    return REVIEW if to_be_reviewed(accounts(), after, vocabulary()) else NOBODY


@pytest.mark.parametrize("name", MUTANTS)
def test_a_lethal_slip_is_stopped(name: str):
    assert stopped_by(name) != NOBODY


def test_most_slips_are_seen_without_the_version_before():
    stopped = [stopped_by(name) for name in MUTANTS]
    assert len(stopped) >= 30
    assert stopped.count(READER) + stopped.count(AUDIT) >= WITHOUT_THE_VERSION_BEFORE


@pytest.mark.parametrize("name", HARMLESS)
def test_a_harmless_edit_is_not_stopped(name: str):
    taxon, edit = HARMLESS[name]
    after = spoilt(taxon, edit)
    assert after[taxon] != accounts()[taxon]
    assert audit(after, vocabulary()).findings <= before().findings
    assert to_be_reviewed(accounts(), after, vocabulary()) == ()


def test_an_account_that_is_gone_is_named():
    after = {taxon: one for taxon, one in accounts().items() if taxon != "amanita-phalloides"}
    assert "amanita-phalloides: the account is gone" in to_be_reviewed(accounts(), after, vocabulary())
