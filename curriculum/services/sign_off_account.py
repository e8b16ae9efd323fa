"""Sign off one version of an account."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime

from curriculum.errors import NotSigned
from curriculum.models import AccountVersion, SignOff
from curriculum.queries import AccountInUse, account_of, accounts_in_use, dangerous_lookalikes, sheets
from foraywright.floor.acts import act, record
from foraywright.floor.models import User

RULES_VERSION = 1


@act
def sign_off_account(
    version: AccountVersion, *, kind: str, competence: str, review_by: date, by: User, now: datetime
) -> SignOff:
    """Put `by`'s signature under `version`. Raises NotSigned with every reason at once.

    The row of the taxon is locked: two reviewers at once would otherwise both sign.
    """
    taxon = type(version.taxon).objects.select_for_update().get(pk=version.taxon_id)
    accounts = accounts_in_use()
    reasons = list(_reasons_against(version, accounts, by=by, now=now, review_by=review_by))
    if reasons:
        raise NotSigned(
            f"The account of {account_of(version).vernacular()} was not signed.",
            why=reasons,
            became="It stays a draft.",
            now="Put these right, or ask another reviewer.",
        )
    pairs = {one.taxon.key: one.version.sha256 for one in dangerous_lookalikes(account_of(version), accounts)}
    sign_off = SignOff.objects.create(
        version=version,
        reviewer=by,
        reviewer_name=str(by),
        competence=competence,
        kind=kind,
        signed_at=now,
        review_by=review_by,
        pairs=pairs,
        rules_version=RULES_VERSION,
    )
    record("sign off account", taxon, by=by, now=now, fields=("sign_off",), reason=kind)
    return sign_off


def _reasons_against(
    version: AccountVersion, accounts: dict[str, AccountInUse], *, by: User, now: datetime, review_by: date
) -> Iterator[str]:
    if SignOff.objects.filter(version=version).exists():
        yield "This version is signed already."
    if version.author_id is not None and version.author_id == by.pk:
        yield "You wrote this version: somebody else must sign it."
    if review_by <= now.date():
        yield "The day by which it must be reviewed again lies in the past."
    yield from _gaps(version, accounts)


def _gaps(version: AccountVersion, accounts: dict[str, AccountInUse]) -> Iterator[str]:
    key = version.taxon.key
    here = {**accounts, key: AccountInUse(version.taxon, version, account_of(version), None)}
    [(_, sheet)] = sheets([key], here)
    for group in sheet.unsourced:
        yield f"{group}: no source is cited, and this group keeps people safe."
    if not sheet.caveats:
        yield "There is no caveat."
