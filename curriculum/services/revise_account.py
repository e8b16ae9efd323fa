"""Write a new draft of an account. The signed version stays in use until the draft is signed or it is withdrawn."""

from __future__ import annotations

from datetime import datetime

from curriculum.compute.account import Account
from curriculum.compute.account_format import AccountRefused, read_account
from curriculum.errors import NotRevised
from curriculum.models import AccountVersion, Taxon
from curriculum.queries import vocabulary
from curriculum.services.write_version import PERSON_ORIGIN, write_version
from foraywright.floor.acts import act
from foraywright.floor.models import User


@act
def revise_account(taxon: Taxon, text: str, *, by: User, now: datetime) -> AccountVersion:
    """Write `text` (the TOML of an account of `taxon`) as a new draft by `by`. Raises NotRevised with every fault.

    The taxon is locked: two authors at once would otherwise write the same version number.
    """
    taxon = Taxon.objects.select_for_update().get(pk=taxon.pk)
    account = _read(taxon, text)
    version = write_version(account, vocabulary().version, origin=PERSON_ORIGIN, by=by, now=now)
    if version is None:
        raise NotRevised("No new draft was written.", why=["A version with exactly this content is there already."])
    return version


def _read(taxon: Taxon, text: str) -> Account:
    try:
        account = read_account(text, f"{taxon.key}.toml", vocabulary())
    except AccountRefused as refused:
        raise NotRevised(
            "No new draft was written.",
            why=[str(problem) for problem in refused.problems],
            became="The version in use stays as it is, and your text is still below.",
            now="Put these right and send it again.",
        ) from refused
    if account.taxon != taxon.key:
        raise NotRevised("No new draft was written.", why=[f"The text is about {account.taxon}, not {taxon.key}."])
    return account
