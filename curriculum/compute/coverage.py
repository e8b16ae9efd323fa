"""How much of an account is recorded, and what of it stands without a source.

Definition (our rule). A character applies to an account if it belongs to the taxon's group, is not deprecated and is
not inapplicable. It is coded where any stage has a value; named unknown where the account says that nobody recorded it;
silent otherwise. A safety group that the account needs and cites nothing for is unsourced.
It must not be taken for a check of truth: a wrong value is coded too.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from curriculum.compute.account import ALL, INAPPLICABLE, STAGES, Account, Missing
from curriculum.compute.separation import DEADLY
from curriculum.compute.vocabulary import Character, Vocabulary

WANTED = 0.9


@dataclass(frozen=True, slots=True)
class Coverage:
    """One account in figures. Keys of characters, labels of groups of facts; `from_memory` are the facts themselves."""

    taxon: str
    role: str
    demanding: bool
    coded: tuple[str, ...]
    named_unknown: tuple[str, ...]
    silent: tuple[str, ...]
    unsourced: tuple[str, ...]
    not_read: tuple[str, ...]
    from_memory: tuple[str, ...]

    @property
    def applying(self) -> int:
        """How many characters apply."""
        return len(self.coded) + len(self.named_unknown) + len(self.silent)

    @property
    def share(self) -> float:
        """Coded characters of those that apply, 0 to 1; 1 where none applies."""
        return len(self.coded) / self.applying if self.applying else 1.0

    @property
    def told(self) -> float:
        """Characters coded or named unknown, of those that apply, 0 to 1; 1 where none applies."""
        return 1 - len(self.silent) / self.applying if self.applying else 1.0

    @property
    def falls_short(self) -> bool:
        """Whether a taught or deadly account has less than nine in ten of its characters coded."""
        return self.demanding and self.share < WANTED


def coverage(account: Account, vocabulary: Vocabulary) -> Coverage:
    """The figures of one account."""
    applying = [one for one in vocabulary.characters_of(account.group).values() if _applies(one, account)]
    coded = {one.key for one in applying if _is_coded(one, account)}
    return Coverage(
        taxon=account.taxon,
        role=account.role,
        demanding=account.role == "taught" or account.edibility == DEADLY,
        coded=tuple(one.key for one in applying if one.key in coded),
        named_unknown=tuple(one.key for one in applying if one.key not in coded and one.key in account.unknown),
        silent=tuple(one.key for one in applying if one.key not in coded and one.key not in account.unknown),
        unsourced=tuple(unsourced_safety_groups(account, vocabulary)),
        not_read=tuple(_cited_unread(account, vocabulary)),
        from_memory=tuple(fact for facts in account.memory.values() for fact in facts),
    )


def unsourced_safety_groups(account: Account, vocabulary: Vocabulary) -> Iterable[str]:
    """Labels of the safety groups that the account needs and cites nothing for."""
    for key, term in vocabulary.terms["fact_group"].items():
        if term.safety and _needs(account, key) and not account.cited.get(key):
            yield term.label


def _needs(account: Account, group: str) -> bool:
    return group != "toxicology" or account.toxicology is not None


def _cited_unread(account: Account, vocabulary: Vocabulary) -> Iterable[str]:
    """Labels of the safety groups of which no cited source was read."""
    read = {one.key for one in account.sources if one.seen}
    for key, term in vocabulary.terms["fact_group"].items():
        cited = {one.source for one in account.cited.get(key, ())}
        if term.safety and cited and not cited & read:
            yield term.label


def _applies(character: Character, account: Account) -> bool:
    found = _given(character, account)
    return not character.deprecated and (INAPPLICABLE not in found or _is_coded(character, account))


def _is_coded(character: Character, account: Account) -> bool:
    return any(not isinstance(one, Missing) for one in _given(character, account))


def _given(character: Character, account: Account) -> list[object]:
    tables = (account.characters.get(stage, {}) for stage in (ALL, *STAGES))
    return [table[character.key] for table in tables if character.key in table]
