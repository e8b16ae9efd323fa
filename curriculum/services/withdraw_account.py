"""Withdraw a version: it is out of use everywhere at once, and everybody who holds a copy is told."""

from __future__ import annotations

from datetime import datetime

from curriculum.errors import NotWithdrawn
from curriculum.models import AccountVersion, Taxon, Withdrawal
from curriculum.queries import SPECIES_FEED, version_in_use
from foraywright.floor.acts import act, record
from foraywright.floor.models import User
from foraywright.floor.numbering import bump_feed
from foraywright.floor.refusals import SeenOtherwise, as_seen, mark_of

OTHER = "Another version has come into use since the page was made."


@act
def withdraw_account(
    version: AccountVersion, *, reason: str, seen: str | None = None, by: User, now: datetime
) -> Withdrawal:
    """Withdraw `version` and every one before it. Raises NotWithdrawn.

    `seen`: the mark of the version in use that was shown; raises SeenOtherwise where another one is in use by now.
    The taxon is locked: a signature in the same moment would otherwise put it into use again. The row is claimed by the
    worker, which writes to everybody who holds a document with this version in it.
    """
    taxon = Taxon.objects.select_for_update().get(pk=version.taxon_id)
    if Withdrawal.objects.filter(version=version).exists():
        raise NotWithdrawn("This version is withdrawn already.", became="Nothing was changed.")
    as_seen(seen, use_mark(version_in_use(taxon)), SeenOtherwise(OTHER, became="Nothing was withdrawn."))
    if not reason.strip():
        raise NotWithdrawn("Nothing was withdrawn.", why=["Everybody who holds the sheet reads the reason: write it."])
    withdrawal = Withdrawal.objects.create(
        version=version, withdrawn_by=by, withdrawn_at=now, reason=reason.strip(), due_at=now
    )
    bump_feed(SPECIES_FEED, now=now)
    record("withdraw account", taxon, by=by, now=now, fields=("withdrawal",), reason=reason[:500])
    return withdrawal


def use_mark(version: AccountVersion | None) -> str:
    """What a page showed of a taxon's version in use. No query."""
    return mark_of(version.number, version.sha256) if version else ""
