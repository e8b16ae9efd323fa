"""The owner of a staff account sets its password by the link that the office passed on."""

from __future__ import annotations

from datetime import datetime

from bookings.errors import StaffNotSaved
from bookings.services.invite_staff import PURPOSE
from foraywright.floor.acts import act, record
from foraywright.floor.links import follow_link
from foraywright.floor.models import LinkSecret, User


@act
def take_up_account(token: str, password: str, *, now: datetime) -> User:
    """Set `password`, and let the link open nothing any more. Raises StaffNotSaved for a link that does not hold.

    The account's row is locked: a link used twice in one moment would otherwise set two passwords.
    """
    found = follow_link(PURPOSE, token, now=now)
    user = User.objects.select_for_update().filter(public_id=found[1] if found else "", is_active=True).first()
    if user is None or follow_link(PURPOSE, token, now=now) != ("live", user.public_id):
        raise StaffNotSaved(
            "This link is no longer good.", became="No password was set.", now="Ask the office for a new link."
        )
    user.set_password(password)
    user.save(update_fields=["password"])
    LinkSecret.objects.filter(purpose=PURPOSE, scope=user.public_id, revoked_at=None).update(revoked_at=now)
    record("take up staff account", user, by=user, now=now, fields=("password",))
    return user
