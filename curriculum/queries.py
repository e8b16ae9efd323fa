"""Reads of the curriculum that more than one page needs."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from itertools import takewhile
from pathlib import Path
from typing import Any

from django.db.models import Prefetch

from curriculum.compute.account import Account, Separator
from curriculum.compute.account_format import read_account
from curriculum.compute.apart import Apart, apart
from curriculum.compute.sheet import Sheet, sheet_of
from curriculum.compute.vocabulary import Vocabulary, vocabulary_from
from curriculum.models import AccountVersion, SignOff, Taxon, TaxonName
from foraywright.floor.compute.folding import folded
from foraywright.floor.models import Slug

ROOM = Path(__file__).resolve().parent


SPECIES_FEED = "species"
"""The revision of everything that follows from signed accounts."""


@dataclass(frozen=True, slots=True)
class AccountInUse:
    """The version of an account that is shown and printed: the newest signed one, else the newest draft."""

    taxon: Taxon
    version: AccountVersion
    account: Account
    sign_off: SignOff | None


@lru_cache(maxsize=1)
def vocabulary() -> Vocabulary:
    """The controlled vocabulary from curriculum/vocabulary/, which changes only with the program. No query."""
    files = sorted((ROOM / "vocabulary").glob("*.toml"))
    return vocabulary_from(tomllib.loads(file.read_text(encoding="utf-8")) for file in files)


@lru_cache(maxsize=1)
def jurisdictions() -> Mapping[str, Any]:
    """Emergency numbers and picking law by jurisdiction, from curriculum/jurisdictions.toml. No query."""
    return tomllib.loads((ROOM / "jurisdictions.toml").read_text(encoding="utf-8"))


_PARSED: dict[str, Account] = {}
"""Accounts by content hash: a content is read from the database and parsed once in a process."""
MOST_PARSED = 5_000


def account_of(version: AccountVersion) -> Account:
    """The account in a version. No query where its body is loaded or its content has been read before."""
    if version.sha256 not in _PARSED:
        _keep(version.sha256, version.body)
    return _PARSED[version.sha256]


def _keep(sha256: str, body: str) -> None:
    if len(_PARSED) >= MOST_PARSED:
        _PARSED.clear()
    _PARSED[sha256] = read_account(json.loads(body)["account"], sha256[:12], vocabulary())


def accounts_in_use() -> dict[str, AccountInUse]:
    """Every taxon's account in use, by taxon key. Two queries, and one more for contents never read before.

    A withdrawn version is out of use with every one before it: what was wrong in it may be wrong in those.
    """
    versions = AccountVersion.objects.select_related("sign_off", "withdrawal").defer("body").order_by("-number")
    taxa = Taxon.objects.prefetch_related(Prefetch("versions", queryset=versions)).order_by("key")
    chosen = [(taxon, version) for taxon in taxa if (version := _chosen(list(taxon.versions.all())))]
    unread = [version.pk for _, version in chosen if version.sha256 not in _PARSED]
    if unread:
        for sha256, body in AccountVersion.objects.filter(pk__in=unread).values_list("sha256", "body"):
            _keep(sha256, body)
    return {taxon.key: _in_use(taxon, version) for taxon, version in chosen}


def version_in_use(taxon: Taxon) -> AccountVersion | None:
    """The same of one taxon, without its account; None where all were withdrawn. One query."""
    return _chosen(list(taxon.versions.select_related("sign_off", "withdrawal").defer("body").order_by("-number")))


def _chosen(versions: list[AccountVersion]) -> AccountVersion | None:
    """The newest signed one after the last withdrawn, else the newest draft; `versions` come newest first."""
    live = list(takewhile(lambda one: getattr(one, "withdrawal", None) is None, versions))
    return next((one for one in live if getattr(one, "sign_off", None)), next(iter(live), None))


def _in_use(taxon: Taxon, version: AccountVersion) -> AccountInUse:
    return AccountInUse(taxon, version, account_of(version), getattr(version, "sign_off", None))


_APART: dict[tuple[str, str], Apart] = {}
"""Pairs by the content hashes of both accounts: each is told apart once in a process."""
MOST_PAIRS = 20_000


def sheets(of: Iterable[str], accounts: Mapping[str, AccountInUse]) -> list[tuple[AccountInUse, Sheet]]:
    """The sheets of the taxa `of` (unknown keys are passed over), with what they were made from. No query."""
    known = {key: one.account for key, one in accounts.items()}
    chosen = [accounts[key] for key in of if key in accounts]

    def pair(this: Account, other: Account, written: tuple[Separator, ...]) -> Apart:
        key = accounts[this.taxon].version.sha256, accounts[other.taxon].version.sha256
        if key not in _APART:
            if len(_APART) >= MOST_PAIRS:
                _APART.clear()
            _APART[key] = apart(this, other, written, vocabulary())
        return _APART[key]

    return [(one, sheet_of(one.account, known, vocabulary(), pair)) for one in chosen]


def dangerous_lookalikes(account: Account, accounts: Mapping[str, AccountInUse]) -> list[AccountInUse]:
    """The poisonous and deadly taxa, with an account, that this one is confused with. No query."""
    edibility = vocabulary().terms["edibility"]
    named = (accounts[one.taxon] for one in account.lookalikes if one.taxon and one.taxon in accounts)
    return [one for one in named if edibility[one.account.edibility].danger]


def species_slugs() -> dict[str, str]:
    """Taxon public id → its present slug. One query."""
    return dict(Slug.objects.filter(kind="species").order_by("since", "pk").values_list("object_id", "text"))


def taxon_by_slug(text: str) -> tuple[Taxon | None, str]:
    """The taxon that has or had the slug `text`, and its present slug; (None, "") for none. Three queries."""
    slug = Slug.objects.filter(kind="species", text=text).first()
    taxon = Taxon.objects.filter(public_id=slug.object_id).first() if slug else None
    if taxon is None:
        return None, ""
    newest = Slug.objects.filter(kind="species", object_id=taxon.public_id).latest("since", "pk")
    return taxon, newest.text


def taxa_called(words: str) -> set[str]:
    """Keys of the taxa of which any name, folded, contains `words`. One query."""
    return set(TaxonName.objects.filter(folded__contains=folded(words)).values_list("taxon__key", flat=True))
