"""How well each taught account is told apart from the dangerous ones: what sign-off and "review due" hang on.

The verdicts of all pairs are computed once for each content of the curriculum and kept, keyed by the content hashes.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date
from functools import lru_cache

from curriculum.compute.account import Account
from curriculum.compute.contradictions import Contradiction, contradictions
from curriculum.compute.separation import Verdict, is_dangerous, separate
from curriculum.compute.universe import may_be_confused
from curriculum.queries import AccountInUse, vocabulary

RULES_VERSION = 1
WORSE = {Verdict.SETTLED: 0, Verdict.THIN: 1, Verdict.UNSETTLED: 2}


@dataclass(frozen=True, slots=True)
class DangerousPair:
    """A poisonous or deadly taxon that a taught one may be taken for, and how well they are told apart.

    `other` is its taxon id, or the name of a group without an account, which counts as unsettled (`content` is empty).
    """

    other: str
    name: str
    verdict: Verdict
    content: str


@dataclass(frozen=True)
class Contents:
    """All accounts in use, as the key of a cache; equal where their contents are."""

    hashes: tuple[tuple[str, str], ...]
    accounts: Mapping[str, Account] = field(compare=False)


def dangerous_pairs(in_use: Mapping[str, AccountInUse]) -> Mapping[str, tuple[DangerousPair, ...]]:
    """For each taught taxon its pairs with dangerous ones, worst first. No query."""
    return _pairs(contents_of(in_use))


def slips(in_use: Mapping[str, AccountInUse]) -> tuple[Contradiction, ...]:
    """Where accounts contradict themselves. No query."""
    return _slips(contents_of(in_use))


def contents_of(in_use: Mapping[str, AccountInUse]) -> Contents:
    """The accounts with the hashes of their contents. No query."""
    hashes = tuple(sorted((key, one.version.sha256) for key, one in in_use.items()))
    return Contents(hashes, {key: one.account for key, one in in_use.items()})


@lru_cache(maxsize=8)
def _slips(contents: Contents) -> tuple[Contradiction, ...]:
    return contradictions(contents.accounts, vocabulary())


@lru_cache(maxsize=8)
def _pairs(contents: Contents) -> Mapping[str, tuple[DangerousPair, ...]]:
    hashes = dict(contents.hashes)
    feared = [one for one in contents.accounts.values() if is_dangerous(one, vocabulary())]
    taught = [one for one in contents.accounts.values() if one.role == "taught"]
    return {one.taxon: _worst_first([*_with_accounts(one, feared, hashes), *_without(one)]) for one in taught}


def _with_accounts(this: Account, feared: list[Account], hashes: Mapping[str, str]) -> Iterator[DangerousPair]:
    for other in feared:
        if other.taxon != this.taxon and may_be_confused(this, other, vocabulary()):
            verdict = _verdict(hashes[this.taxon], hashes[other.taxon], _Pair(this, other))
            yield DangerousPair(other.taxon, other.vernacular(), verdict, hashes[other.taxon])


def _without(this: Account) -> Iterator[DangerousPair]:
    edibility = vocabulary().terms["edibility"]
    for one in this.lookalikes:
        if one.taxon is None and edibility[one.feared].danger:
            yield DangerousPair(one.group_name, one.group_name, Verdict.UNSETTLED, "")


@dataclass(frozen=True, eq=False)
class _Pair:
    """Two accounts, told apart by the hashes that stand beside them in the cache's key."""

    this: Account
    other: Account

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Pair)

    def __hash__(self) -> int:
        return 0


@lru_cache(maxsize=50_000)
def _verdict(this: str, other: str, pair: _Pair) -> Verdict:
    return separate(pair.this, pair.other, vocabulary()).verdict


def _worst_first(pairs: list[DangerousPair]) -> tuple[DangerousPair, ...]:
    return tuple(sorted(pairs, key=lambda one: (-WORSE[one.verdict], one.name)))


def as_signed(pairs: tuple[DangerousPair, ...]) -> dict[str, dict[str, str]]:
    """The pairs as a signature stores them: by taxon or group the content compared with, and the verdict."""
    return {one.other: {"content": one.content, "verdict": str(one.verdict)} for one in pairs}


def review_due(in_use: Mapping[str, AccountInUse], *, today: date) -> dict[str, tuple[str, ...]]:
    """Why signed accounts may not be issued any more until they are reviewed: by taxon, sentences. No query.

    A change anywhere that worsens one of an account's pairs, or that brings a new pair which is not settled, stops it;
    so does the day by which the reviewer wanted to see it again.
    """
    pairs = dangerous_pairs(in_use)
    due = {key: tuple(_worsened(one, pairs.get(key, ()), today)) for key, one in in_use.items()}
    return {key: sentences for key, sentences in due.items() if sentences}


def _worsened(one: AccountInUse, pairs: tuple[DangerousPair, ...], today: date) -> Iterator[str]:
    if one.sign_off is None:
        return
    if one.sign_off.review_by < today:
        yield f"Its reviewer wanted to see it again by {one.sign_off.review_by:%d %B %Y}."
    for pair in pairs:
        signed = one.sign_off.pairs.get(pair.other, {}).get("verdict", Verdict.SETTLED)
        if WORSE[pair.verdict] > WORSE[Verdict(signed)]:
            yield f"Against {pair.name} it was {signed} when it was signed and is {pair.verdict} now."
