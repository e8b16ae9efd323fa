"""Invite an outside reviewer to one version, by a link that is shown once and holds for six weeks."""

from __future__ import annotations

from datetime import datetime, timedelta

from curriculum.errors import NotInvited
from curriculum.models import AccountVersion, ReviewInvitation, SignOff
from foraywright.floor.acts import act, record
from foraywright.floor.links import make_link
from foraywright.floor.models import LinkSecret, User

HOLDS = timedelta(weeks=6)


@act
def invite_reviewer(
    version: AccountVersion, *, name: str, competence: str, scope: str, by: User, now: datetime
) -> tuple[ReviewInvitation, str]:
    """Write the invitation and return it with the token of its link. Raises NotInvited.

    Whoever holds the link may sign, so `by` gives it to that person and to nobody else.
    """
    if SignOff.objects.filter(version=version).exists():
        raise NotInvited("Nobody was invited.", why=["This version is signed already."])
    if name.strip().casefold() == str(by).casefold():
        raise NotInvited("Nobody was invited.", why=["You cannot invite yourself: somebody else must review it."])
    invitation = ReviewInvitation.objects.create(
        version=version, name=name.strip(), competence=competence, scope=scope, invited_by=by, invited_at=now
    )
    token = make_link(LinkSecret.Purpose.REVIEW, invitation.public_id, expires_at=now + HOLDS, now=now)
    record("invite reviewer", version, by=by, now=now, fields=("name", "competence", "scope"))
    return invitation, token
