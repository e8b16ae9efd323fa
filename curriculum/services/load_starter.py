"""Load the starter curriculum: every file is read before anything is written; what is there is left alone."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from curriculum.compute.account import Account, Citation, Source
from curriculum.compute.account_format import AccountRefused, read_account, unmet_lookalikes
from curriculum.compute.canonical import canonical_json, content_hash
from curriculum.compute.problems import Problem
from curriculum.compute.vocabulary import Vocabulary
from curriculum.errors import FilesRefused
from curriculum.models import AccountVersion, FactGroup, Taxon, TaxonName, VocabularyWord
from curriculum.models import Citation as CitationRow
from curriculum.models import Source as SourceRow
from curriculum.queries import ROOM, vocabulary
from foraywright.floor.acts import By, act, record
from foraywright.floor.numbering import give_slug

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
    new = sum(_load(account, words.version, by=by, now=now) for account in accounts)
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


def _load(account: Account, words_version: int, *, by: By, now: datetime) -> bool:
    sha256 = content_hash(account, words_version)
    taxon, _ = Taxon.objects.get_or_create(key=account.taxon, defaults={"group": account.group})
    versions = AccountVersion.objects.filter(taxon=taxon)
    if versions.filter(sha256=sha256).exists():
        return False
    newest = versions.order_by("-number").first()
    version = AccountVersion.objects.create(
        taxon=taxon,
        number=newest.number + 1 if newest else 1,
        body=canonical_json(account, words_version),
        sha256=sha256,
        vocabulary_version=words_version,
        edibility=account.edibility,
        tier=account.tier or "",
        role=account.role,
        origin="starter",
        created_at=now,
    )
    _write_citations(version, account)
    if newest is None or newest.origin == "starter":
        _write_names(taxon, account, now=now)
    record("load account", version, by=by, now=now, fields=("body",))
    return True


def _write_citations(version: AccountVersion, account: Account) -> None:
    sources = {source.key: _source_row(account.taxon, source) for source in account.sources}
    for group in dict.fromkeys((*account.cited, *account.memory)):
        row = FactGroup.objects.create(version=version, group=group, from_memory=list(account.memory.get(group, ())))
        CitationRow.objects.bulk_create(_citation_rows(row, account.cited.get(group, ()), sources))


def _citation_rows(
    row: FactGroup, citations: Iterable[Citation], sources: dict[str, SourceRow]
) -> Iterator[CitationRow]:
    for one in citations:
        yield CitationRow(fact_group=row, source=sources[one.source], locator=one.locator, supports=one.supports)


def _source_row(taxon: str, source: Source) -> SourceRow:
    values = {
        "title": source.title,
        "kind": source.kind,
        "publisher": source.publisher,
        "address": source.address,
        "seen": source.seen,
        "read_on": source.read_on,
    }
    return SourceRow.objects.update_or_create(key=f"{taxon}/{source.key}", defaults=values)[0]


def _write_names(taxon: Taxon, account: Account, *, now: datetime) -> None:
    taxon.names.all().delete()
    for place, one in enumerate(account.names):
        TaxonName.objects.create(
            taxon=taxon,
            name=one.name,
            kind=one.kind,
            language=one.language,
            authority=one.authority,
            since=one.since,
            place=place,
        )
    give_slug("species", account.taxon, taxon.public_id, now=now)
