"""A key as it is printed: couplets in words, and what each leaf must say besides its taxa.

Definition (our rule). A leaf names every taxon that remains; of each the taxa of the key from which it is not settled;
and the taxa that harm, may be confused with one that remains, and were not in the key, first those of them that are
not settled from one that remains.
It must not be taken for complete: what has no account is named only where an account names it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from curriculum.compute.account import Account
from curriculum.compute.keys import Key, Lead
from curriculum.compute.separation import Verdict, is_dangerous, separate
from curriculum.compute.universe import may_be_confused
from curriculum.compute.value_words import measure, words
from curriculum.compute.vocabulary import Character, Vocabulary

BOTH = "What fits neither lead, or cannot be seen: follow both."


@dataclass(frozen=True, slots=True)
class PrintedLead:
    """One lead: couplet number, character and state in words, and the number to go to or the taxa that remain."""

    number: int
    says: str
    to: int | tuple[str, ...]


@dataclass(frozen=True, slots=True)
class LeafNote:
    """What a leaf says: `not_settled` holds (taxon here, taxon of the key, verdict); `outside` was not in the key.

    `near`: those of `outside` that are not settled from a taxon here, groups without an account among them.
    """

    taxa: tuple[str, ...]
    not_settled: tuple[tuple[str, str, Verdict], ...]
    outside: tuple[str, ...]
    near: tuple[str, ...]


def printed(key: Key, vocabulary: Vocabulary) -> tuple[PrintedLead, ...]:
    """The leads in reading order, two of each number. Print BOTH with them: without it the key is not sound."""
    return tuple(
        PrintedLead(one.number, _says(lead, place, vocabulary.characters[one.character]), lead.to)
        for one in key.couplets
        for place, lead in enumerate(one.leads)
    )


def leaf_note(
    leaf: Iterable[str], inside: Mapping[str, Account], known: Mapping[str, Account], vocabulary: Vocabulary
) -> LeafNote:
    """What a leaf must say. `inside` holds the accounts of the key by taxon, `known` all accounts there are."""
    taxa = tuple(leaf)
    unsettled = [
        (taxon, other, verdict)
        for taxon in taxa
        for other in inside
        if other != taxon
        and (verdict := separate(inside[taxon], inside[other], vocabulary).verdict) is not Verdict.SETTLED
    ]
    here = [inside[taxon] for taxon in taxa]
    outside = tuple(_outside(here, inside, known, vocabulary))
    near = tuple(name for name in outside if name not in known or _near(known[name], here, vocabulary))
    return LeafNote(taxa, tuple(unsettled), outside, near)


def _near(other: Account, here: Iterable[Account], vocabulary: Vocabulary) -> bool:
    return any(separate(one, other, vocabulary).verdict is not Verdict.SETTLED for one in here)


def _says(lead: Lead, place: int, character: Character) -> str:
    test = lead.test
    if isinstance(test, frozenset):
        return f"{character.label}: {words(test, character)}"
    limit = (test.high, test.low)[place]
    return f"{character.label}: {('up to {}', '{} or more')[place].format(measure(limit, limit))}"


def _outside(
    here: list[Account], inside: Mapping[str, Account], known: Mapping[str, Account], vocabulary: Vocabulary
) -> Iterable[str]:
    for other in known.values():
        harms = other.taxon not in inside and is_dangerous(other, vocabulary)
        if harms and any(may_be_confused(one, other, vocabulary) for one in here):
            yield other.taxon
    scale = vocabulary.terms["edibility"]
    feared = (named for one in here for named in one.lookalikes if named.taxon is None and scale[named.feared].danger)
    yield from sorted({named.group_name for named in feared})
