"""The heavy computations on generated taxa, against bare Python loops that visit the same cells and decide nothing."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import combinations

from curriculum.compute.account import INAPPLICABLE, UNKNOWN, Account, Interval, Value
from curriculum.compute.audit import audit
from curriculum.compute.keys import make_key
from curriculum.compute.similarity import similarity, spans
from curriculum.compute.vocabulary import Vocabulary
from tests.bench.clock import line, seconds
from tests.bench.taxa import taxa, words

TAXA, CHARACTERS, IN_KEY = 300, 60, 60


def lines() -> Iterator[str]:
    """Audit, similarity matrix and key."""
    vocabulary = words(CHARACTERS)
    accounts = taxa(TAXA, vocabulary)
    values = [one.characters["all"] for one in accounts.values()]
    visits = seconds(lambda: _visits(values))
    yield line(
        f"audit of {TAXA} taxa x {CHARACTERS} characters", seconds(lambda: audit(accounts, vocabulary), runs=1), visits,
        "a loop over all pairs and characters that only compares for equality",
    )  # fmt: skip
    yield line(
        f"similarity matrix of {TAXA} taxa x {CHARACTERS} characters",
        seconds(lambda: _matrix(values, vocabulary), runs=1), seconds(lambda: _bare_gower(values), runs=1),
        "the bare formula of Gower and of Ichino and Yaguchi in one loop, no bounds, no numpy",
    )  # fmt: skip
    few = dict(list(accounts.items())[:IN_KEY])
    few_values = [one.characters["all"] for one in few.values()]
    yield line(
        f"key to {IN_KEY} taxa x {CHARACTERS} characters", seconds(lambda: _key(few, vocabulary)),
        seconds(lambda: _visits(few_values)), "the same loop over all pairs and characters",
    )  # fmt: skip


def _visits(values: list[Mapping[str, Value]]) -> int:
    return sum(this[key] != other[key] for this, other in combinations(values, 2) for key in this)


def _matrix(values: list[Mapping[str, Value]], vocabulary: Vocabulary) -> list[float | None]:
    characters, span = tuple(vocabulary.characters.values()), spans(values)
    return [similarity(this, other, characters, span).score for this, other in combinations(values, 2)]


def _bare_gower(values: list[Mapping[str, Value]]) -> list[float]:
    span = spans(values)
    return [_bare_pair(this, other, span) for this, other in combinations(values, 2)]


def _bare_pair(this: Mapping[str, Value], other: Mapping[str, Value], span: Mapping[str, float]) -> float:
    total, count = 0.0, 0
    for key, ours in this.items():
        theirs = other[key]
        if ours in (UNKNOWN, INAPPLICABLE) or theirs in (UNKNOWN, INAPPLICABLE):
            continue
        count += 1
        if isinstance(ours, Interval):
            total += 1 - (abs(ours.low - theirs.low) + abs(ours.high - theirs.high)) / (2 * span[key])
        else:
            total += len(ours & theirs) / len(ours | theirs)
    return total / count


def _key(accounts: Mapping[str, Account], vocabulary: Vocabulary) -> object:
    return make_key(accounts.values(), vocabulary)
