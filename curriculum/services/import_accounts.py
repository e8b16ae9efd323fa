"""Take accounts that a person brings as TOML files: all of them as drafts, or none."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from curriculum.compute.account import Account
from curriculum.compute.account_format import AccountRefused, read_account, unmet_lookalikes
from curriculum.compute.problems import Problem
from curriculum.errors import FilesRefused
from curriculum.models import Taxon
from curriculum.queries import accounts_in_use, vocabulary
from curriculum.services.write_version import PERSON_ORIGIN, write_version
from foraywright.floor.acts import act
from foraywright.floor.models import User


@dataclass(frozen=True, slots=True)
class Imported:
    """Taxa of which a draft was written, and those of which this content was there already."""

    written: tuple[str, ...]
    unchanged: tuple[str, ...]


@act
def import_accounts(texts: Mapping[str, str], *, by: User, now: datetime) -> Imported:
    """Write each text (by the name of its file) as a new draft by `by`. Raises FilesRefused with every fault.

    The taxa are locked: two authors at once would otherwise write the same version number.
    """
    list(Taxon.objects.select_for_update().order_by("pk"))
    accounts = _read(texts)
    drafts = {
        one.taxon: write_version(one, vocabulary().version, origin=PERSON_ORIGIN, by=by, now=now) for one in accounts
    }
    return Imported(
        written=tuple(taxon for taxon, draft in drafts.items() if draft is not None),
        unchanged=tuple(taxon for taxon, draft in drafts.items() if draft is None),
    )


def _read(texts: Mapping[str, str]) -> list[Account]:
    accounts: list[Account] = []
    faults: list[Problem] = []
    for file, text in texts.items():
        try:
            accounts.append(read_account(text, file, vocabulary()))
        except AccountRefused as refused:
            faults += refused.problems
    faults += () if faults else _faults_together(accounts)
    if faults:
        raise FilesRefused(
            "No account was taken.",
            why=[str(fault) for fault in faults],
            became="Nothing was written.",
            now="Put these right and bring the files again.",
        )
    return accounts


def _faults_together(accounts: list[Account]) -> list[Problem]:
    """A taxon told twice, and lookalikes of which there is no account, neither here nor in use."""
    taxa = [one.taxon for one in accounts]
    twice = sorted({taxon for taxon in taxa if taxa.count(taxon) > 1})
    known = [one.account for key, one in accounts_in_use().items() if key not in taxa]
    unmet = [one for one in unmet_lookalikes([*accounts, *known]) if one.file.removesuffix(".toml") in taxa]
    return [*(Problem(f"{taxon}.toml", "taxon", taxon, "one file for each taxon") for taxon in twice), *unmet]
