"""Generated taxa: any number, over as many characters as one asks for, the same ones every time."""

from __future__ import annotations

from collections.abc import Mapping
from random import Random

from curriculum.compute.account import INAPPLICABLE, UNKNOWN, Account, Interval, Name, Season, Value
from curriculum.compute.vocabulary import Character, State, Vocabulary
from tests.curriculum.compute.files import vocabulary as shipped

STATES, KNOWN = 8, 0.85


def words(characters: int) -> Vocabulary:
    """A vocabulary of so many characters, every fifth a measure, each its own evidence; terms and habitats shipped."""
    place = {"habitat": shipped().characters["habitat"]}
    made = {key: _character(key, number) for number in range(characters - 1) if (key := f"c{number:02}")}
    return Vocabulary(shipped().version, {**place, **made}, shipped().terms)


def taxa(count: int, vocabulary: Vocabulary, seed: int = 7) -> dict[str, Account]:
    """So many taught or dangerous taxa with one to three states a character, some unknown or inapplicable."""
    dice = Random(seed)
    made = (_taxon(f"taxon-{number:03}", vocabulary, dice) for number in range(count))
    return {one.taxon: one for one in made}


def _character(key: str, number: int) -> Character:
    known = {f"s{place}": State(f"s{place}", f"s{place}") for place in range(STATES)} if number % 5 else {}
    kind, unit = ("states", "") if known else ("range", "mm")
    groups = frozenset(["fungus"])
    return Character(key, key, groups, kind, "whole", key, key, "glance", "steady", unit=unit, states=known)


def _taxon(name: str, vocabulary: Vocabulary, dice: Random) -> Account:
    values: Mapping[str, Value] = {key: _value(one, dice) for key, one in vocabulary.characters.items()}
    danger = dice.random() < 0.2
    return Account(
        taxon=name, group="fungus", role="danger" if danger else "taught", family="", order="", summary="",
        edibility="deadly" if danger else "choice", names=(Name(name, "accepted", "la"),),
        season=Season(tuple(range(1, 13))), characters={"all": values},
    )  # fmt: skip


def _value(character: Character, dice: Random) -> Value:
    if dice.random() > KNOWN:
        return dice.choice([UNKNOWN, INAPPLICABLE])
    if character.kind == "range":
        low = dice.randint(1, 100)
        return Interval(low, low + dice.randint(0, 40))
    return frozenset(dice.sample(sorted(character.states), dice.randint(1, 3)))
