"""Change what a staff account may do, or close it."""

from __future__ import annotations

from collections.abc import Collection
from datetime import datetime

from django.contrib.auth.models import Group

from bookings.errors import StaffNotSaved
from foraywright.floor.acts import By, act, record
from foraywright.floor.models import LinkSecret, User
from foraywright.floor.roles import OFFICE


@act
def change_staff(
    user: User, roles: Collection[str], *, active: bool, email: str | None = None, by: By, now: datetime
) -> User:
    """Give `user` exactly `roles` and `email` (None: as it is), and close or open the account.

    A closed one is signed out everywhere at once.

    Raises StaffNotSaved where nobody of the office would be left. The accounts of the office are locked: two of them
    could otherwise close each other.
    """
    office = User.objects.select_for_update().filter(groups__name=OFFICE, is_active=True).order_by("pk")
    stays = active and OFFICE in roles
    if not stays and [one.pk for one in office] == [user.pk]:
        raise StaffNotSaved(
            f"“{user.get_username()}” is the only account of the office.",
            became="It stays as it was.",
            now="Give somebody else the role of the office first.",
        )
    user.is_active = active
    user.email = user.email if email is None else email
    user.save(update_fields=["is_active", "email"])
    user.groups.set(Group.objects.filter(name__in=roles))
    if not active:
        LinkSecret.objects.filter(purpose=LinkSecret.Purpose.STAFF, scope=user.public_id).update(revoked_at=now)
    reason = ", ".join(sorted(roles)) if active else "closed"
    record("change staff", user, by=by, now=now, fields=("roles", "is_active", "email"), reason=reason)
    return user
