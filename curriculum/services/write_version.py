"""The step that writes one version of an account with its sources and names, for loading, editing and importing."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import datetime

from curriculum.compute.account import Account, Citation
from curriculum.compute.canonical import canonical_json, content_hash
from curriculum.models import AccountVersion, FactGroup, Taxon, TaxonName
from curriculum.models import Citation as CitationRow
from curriculum.models import Source as SourceRow
from foraywright.floor.acts import By, record, require_act
from foraywright.floor.compute.folding import folded
from foraywright.floor.models import User
from foraywright.floor.numbering import give_slug

STARTER_ORIGIN = "starter"
PERSON_ORIGIN = "person"


def write_version(account: Account, words_version: int, *, origin: str, by: By, now: datetime) -> AccountVersion | None:
    """Write `account` as a new draft and return it; None where the taxon has a version of this content already.

    The names shown are those of the newest version, but a file of the program never overrides what a person wrote.
    """
    require_act()
    sha256 = content_hash(account, words_version)
    taxon, _ = Taxon.objects.get_or_create(key=account.taxon, defaults={"group": account.group})
    versions = AccountVersion.objects.filter(taxon=taxon)
    if versions.filter(sha256=sha256).exists():
        return None
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
        origin=origin,
        author=by if isinstance(by, User) else None,
        created_at=now,
    )
    _write_citations(version, account)
    if origin == PERSON_ORIGIN or not versions.filter(origin=PERSON_ORIGIN).exists():
        _write_names(taxon, account, now=now)
    record("write account", version, by=by, now=now, fields=("body",))
    return version


def _write_citations(version: AccountVersion, account: Account) -> None:
    sources = _write_sources(account)
    groups = [
        FactGroup(version=version, group=group, from_memory=list(account.memory.get(group, ())))
        for group in dict.fromkeys((*account.cited, *account.memory))
    ]
    FactGroup.objects.bulk_create(groups)
    CitationRow.objects.bulk_create(
        row for group in groups for row in _citation_rows(group, account.cited.get(group.group, ()), sources)
    )


def _citation_rows(
    row: FactGroup, citations: Iterable[Citation], sources: dict[str, SourceRow]
) -> Iterator[CitationRow]:
    for one in citations:
        yield CitationRow(fact_group=row, source=sources[one.source], locator=one.locator, supports=one.supports)


def _write_sources(account: Account) -> dict[str, SourceRow]:
    """The account's sources as rows, by their key in the account; one statement."""
    rows = {
        one.key: SourceRow(
            key=f"{account.taxon}/{one.key}",
            title=one.title,
            kind=one.kind,
            publisher=one.publisher,
            address=one.address,
            seen=one.seen,
            read_on=one.read_on,
        )
        for one in account.sources
    }
    facts = ["title", "kind", "publisher", "address", "seen", "read_on"]
    SourceRow.objects.bulk_create(rows.values(), update_conflicts=True, unique_fields=["key"], update_fields=facts)
    return rows


def _write_names(taxon: Taxon, account: Account, *, now: datetime) -> None:
    taxon.names.all().delete()
    TaxonName.objects.bulk_create(
        TaxonName(
            taxon=taxon,
            name=one.name,
            folded=folded(one.name),
            kind=one.kind,
            language=one.language,
            authority=one.authority,
            since=one.since,
            place=place,
        )
        for place, one in enumerate(account.names)
    )
    give_slug("species", account.taxon, taxon.public_id, now=now)
