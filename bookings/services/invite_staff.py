"""Make a staff account that its owner opens by a link, or make a new link for one."""

from __future__ import annotations

from collections.abc import Collection
from datetime import datetime, timedelta

from django.contrib.auth.models import Group

from bookings.errors import StaffNotSaved
from foraywright.floor.acts import By, act, record
from foraywright.floor.links import make_link
from foraywright.floor.models import LinkSecret, User

PURPOSE = LinkSecret.Purpose.STAFF
VALID_FOR = timedelta(days=7)


@act
def invite_staff(
    username: str, name: str, roles: Collection[str], *, email: str = "", by: By, now: datetime
) -> tuple[User, str]:
    """Make the account `username` without a password, and return it with the token by which its owner sets one.

    Raises StaffNotSaved where the name is taken.
    """
    if User.objects.filter(username__iexact=username).exists():
        raise StaffNotSaved(
            f"There is an account “{username}” already.",
            became="Nothing was saved.",
            now="Choose another user name, or change that account.",
            field="username",
        )
    user = User.objects.create_user(username, email, first_name=name)
    user.groups.set(Group.objects.filter(name__in=roles))
    record(
        "invite staff",
        user,
        by=by,
        now=now,
        fields=("username", "name", "email", "roles"),
        reason=", ".join(sorted(roles)),
    )
    return user, make_link(PURPOSE, user.public_id, expires_at=now + VALID_FOR, now=now)


@act
def renew_invitation(user: User, *, by: By, now: datetime) -> str:
    """Return a new token for `user`, whose earlier ones open nothing any more: also for a forgotten password."""
    LinkSecret.objects.filter(purpose=PURPOSE, scope=user.public_id, revoked_at=None).update(revoked_at=now)
    record("renew staff invitation", user, by=by, now=now)
    return make_link(PURPOSE, user.public_id, expires_at=now + VALID_FOR, now=now)
