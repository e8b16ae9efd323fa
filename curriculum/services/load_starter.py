"""Load the starter curriculum: every file is read before anything is written; what is there is left alone."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from curriculum.compute.account import Account
from curriculum.compute.account_format import AccountRefused, read_account, unmet_lookalikes
from curriculum.compute.problems import Problem
from curriculum.compute.vocabulary import Vocabulary
from curriculum.errors import FilesRefused
from curriculum.models import VocabularyWord
from curriculum.queries import ROOM, vocabulary
from curriculum.services.write_version import STARTER_ORIGIN, write_version
from foraywright.floor.acts import By, act

STARTER = ROOM / "starter"


@dataclass(frozen=True, slots=True)
class Loaded:
    """How many accounts are new or changed (as drafts), and how many were there already."""

    new: int
    unchanged: int


@act
def load_starter(folder: Path = STARTER, *, by: By, now: datetime) -> Loaded:
    """Add every account of `folder` whose content is not there yet, as a new draft version. Raises FilesRefused.

    Signed versions and people's edits are never overwritten: the newest version written by a person keeps its place.
    """
    words = vocabulary()
    accounts = _read(folder, words)
    _load_words(words)
    written = [write_version(one, words.version, origin=STARTER_ORIGIN, by=by, now=now) for one in accounts]
    new = sum(one is not None for one in written)
    return Loaded(new=new, unchanged=len(accounts) - new)


def _read(folder: Path, words: Vocabulary) -> list[Account]:
    accounts: list[Account] = []
    problems: list[Problem] = []
    for file in sorted(folder.glob("*.toml")):
        try:
            accounts.append(read_account(file.read_text(encoding="utf-8"), file.name, words))
        except AccountRefused as refused:
            problems += refused.problems
    problems += () if problems else unmet_lookalikes(accounts)
    if problems:
        raise FilesRefused(
            "The species accounts were not loaded.",
            why=[str(problem) for problem in problems],
            became="Nothing was written.",
            now="Put these right and load again.",
        )
    return accounts


def _load_words(words: Vocabulary) -> None:
    known = set(VocabularyWord.objects.values_list("path", flat=True))
    found = dict(_paths(words))
    gone = known - set(found)
    if gone:
        raise FilesRefused(
            "The vocabulary was not loaded.",
            why=[f"{path} is missing; accounts may have been signed with it." for path in sorted(gone)],
            became="Nothing was written.",
            now="Put the words back and mark them deprecated = true.",
        )
    VocabularyWord.objects.bulk_create(
        VocabularyWord(path=path, label=label, deprecated=deprecated, since_version=words.version)
        for path, (label, deprecated) in found.items()
        if path not in known
    )


def _paths(words: Vocabulary) -> Iterator[tuple[str, tuple[str, bool]]]:
    for key, character in words.characters.items():
        yield f"character.{key}", (character.label, character.deprecated)
        for state in character.states.values():
            yield f"character.{key}.{state.key}", (state.label, state.deprecated)
    for name, terms in words.terms.items():
        for term in terms.values():
            yield f"{name}.{term.key}", (term.label, term.deprecated)
