"""Sign off one version of an account."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime

from curriculum.compute.account_changes import to_be_reviewed
from curriculum.compute.separation import Verdict
from curriculum.errors import NotSigned
from curriculum.models import AccountVersion, ReviewInvitation, SignOff, Taxon, Withdrawal
from curriculum.pairs import RULES_VERSION, DangerousPair, as_signed, dangerous_pairs, slips
from curriculum.queries import SPECIES_FEED, AccountInUse, account_of, accounts_in_use, sheets, vocabulary
from foraywright.floor.acts import act, record
from foraywright.floor.models import User
from foraywright.floor.numbering import bump_feed


@dataclass(frozen=True, slots=True)
class Signature:
    """What a reviewer puts down.

    `thin_reason`: why pairs that hang on one character only are taught all the same. `change_reason`: what the claims
    rest on that go beyond the last signed version.
    """

    kind: str
    competence: str
    review_by: date
    thin_reason: str = ""
    change_reason: str = ""
    scope: str = ""


@act
def sign_off_account(
    version: AccountVersion, signature: Signature, *, by: User | ReviewInvitation, now: datetime
) -> SignOff:
    """Put the signature of `by` (a reviewer, or the invitation of an outside one) under `version`.

    Raises NotSigned with every reason at once.

    The taxa are locked: two reviewers at once would otherwise both sign, or sign against a pair that is being changed.
    """
    list(Taxon.objects.select_for_update().order_by("pk"))
    accounts = _with_this(version, accounts_in_use())
    pairs = dangerous_pairs(accounts).get(version.taxon.key, ())
    reasons = [*_reasons_against(version, signature, by=by, now=now), *_gaps(version, accounts)]
    reasons += [*_pairs_against(pairs, signature), *_unexplained(version, signature, accounts)]
    if reasons:
        raise NotSigned(
            f"The account of {account_of(version).vernacular()} was not signed.",
            why=reasons,
            became="It stays a draft.",
            now="Put these right, or ask another reviewer.",
        )
    sign_off = _write(version, signature, pairs, by=by, now=now)
    actor = by if isinstance(by, User) else "outside reviewer"
    bump_feed(SPECIES_FEED, now=now)
    record("sign off account", version.taxon, by=actor, now=now, fields=("sign_off",), reason=signature.kind)
    return sign_off


def _with_this(version: AccountVersion, accounts: dict[str, AccountInUse]) -> dict[str, AccountInUse]:
    """The curriculum as it would be with `version` in use."""
    return {**accounts, version.taxon.key: AccountInUse(version.taxon, version, account_of(version), None)}


def _reasons_against(
    version: AccountVersion, signature: Signature, *, by: User | ReviewInvitation, now: datetime
) -> Iterator[str]:
    if SignOff.objects.filter(version=version).exists():
        yield "This version is signed already."
    if Withdrawal.objects.filter(version=version).exists():
        yield "This version was withdrawn."
    if AccountVersion.objects.filter(taxon=version.taxon, withdrawal=None, number__gt=version.number).exists():
        yield "There is a newer version: read and sign that one."
    if isinstance(by, User) and version.author_id == by.pk:
        yield "You wrote this version: somebody else must sign it."
    if signature.review_by <= now.date():
        yield "The day by which it must be reviewed again lies in the past."


def _gaps(version: AccountVersion, accounts: dict[str, AccountInUse]) -> Iterator[str]:
    [(_, sheet)] = sheets([version.taxon.key], accounts)
    for group in sheet.unsourced:
        yield f"{group}: no source is cited, and this group keeps people safe."
    if not sheet.caveats:
        yield "There is no caveat."
    for slip in slips(accounts):
        if slip.taxon == version.taxon.key:
            yield f"It contradicts itself: {slip.what}."


def _pairs_against(pairs: tuple[DangerousPair, ...], signature: Signature) -> Iterator[str]:
    for one in pairs:
        if one.verdict == Verdict.UNSETTLED:
            yield f"{one.name} cannot be told from it by what is recorded."
    thin = [one.name for one in pairs if one.verdict == Verdict.THIN]
    if thin and not signature.thin_reason.strip():
        yield f"{', '.join(thin)}: told apart by one character only. Write why it is taught all the same."


def bolder_than_signed(version: AccountVersion, accounts: Mapping[str, AccountInUse]) -> tuple[str, ...]:
    """What `version` claims beyond the last signed version of its taxon; empty where none was signed. One query."""
    signed = AccountVersion.objects.filter(taxon=version.taxon, number__lt=version.number, sign_off__isnull=False)
    last = signed.order_by("-number").first()
    if last is None:
        return ()
    after = {key: one.account for key, one in accounts.items()} | {version.taxon.key: account_of(version)}
    return to_be_reviewed(after | {version.taxon.key: account_of(last)}, after, vocabulary())


def _unexplained(version: AccountVersion, signature: Signature, accounts: Mapping[str, AccountInUse]) -> Iterator[str]:
    bolder = bolder_than_signed(version, accounts)
    if bolder and not signature.change_reason.strip():
        yield f"It goes beyond the last signed version ({'; '.join(bolder)}). Write what that rests on."


def _write(
    version: AccountVersion,
    signature: Signature,
    pairs: tuple[DangerousPair, ...],
    *,
    by: User | ReviewInvitation,
    now: datetime,
) -> SignOff:
    return SignOff.objects.create(
        version=version,
        reviewer=by if isinstance(by, User) else None,
        reviewer_name=str(by) if isinstance(by, User) else by.name,
        competence=signature.competence,
        scope=signature.scope,
        kind=signature.kind,
        signed_at=now,
        review_by=signature.review_by,
        pairs=as_signed(pairs),
        thin_reason=signature.thin_reason,
        change_reason=signature.change_reason,
        rules_version=RULES_VERSION,
    )
