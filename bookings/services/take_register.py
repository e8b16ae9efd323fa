"""Take the register along on a device, and call such a copy back when the device is lost."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from uuid import UUID

from bookings.compute.device_seal import new_private_key
from bookings.errors import NotTakenAlong
from bookings.models import Declaration, Look, RegisterCopy
from bookings.register import DayRegister, register_of
from bookings.services.look_at_declarations import write_looks
from foraywright.floor.acts import act, record
from foraywright.floor.models import User
from walks.models import Walk

BEFORE = timedelta(hours=24)
KEPT_AFTER = timedelta(hours=24)


@dataclass(frozen=True, slots=True)
class TakenAlong:
    """What a device is given: the register, and the declarations by person, of which it shows whom to ring."""

    copy: RegisterCopy
    register: DayRegister
    declared: dict[int, Declaration]


@dataclass(frozen=True, slots=True)
class Device:
    """The device that takes a copy: the random id that it made for itself, and what its guide calls it."""

    key: UUID | None = None
    name: str = ""


UNNAMED = Device()


@act
def take_register(walk: Walk, *, by: User, now: datetime, device: Device = UNNAMED) -> TakenAlong:
    """Note a copy of the register for a device, and a look at each emergency contact that it carries.

    The copy has a key of its own: what is typed on the device without signal is sealed under its public half.
    Raises NotTakenAlong outside the day: names do not lie on a phone for a walk that is weeks away or long over.
    """
    if walk.called_off_at is not None or not walk.starts_at - BEFORE <= now <= walk.ends_at + KEPT_AFTER:
        raise NotTakenAlong(
            "The register is taken along from the day before the walk to the day after it.",
            became="Nothing was put on this device.",
            now="Come back on the day, or print the register.",
        )
    register = register_of(walk)
    people = [one.person for one in register.people]
    declared = {one.person_id: one for one in Declaration.objects.filter(person__in=people)}
    heard = [one.public_id for one in people if one.pk in declared]
    write_looks(heard, Look.What.EMERGENCY, walk, by=by, now=now)
    copy = RegisterCopy.objects.create(
        walk=walk,
        taken_by=by,
        taken_at=now,
        kept_until=walk.ends_at + KEPT_AFTER,
        device=device.key,
        device_name=device.name,
        private_key=new_private_key(),
    )
    record("take register along", walk.offering, by=by, now=now, reason=f"session {walk.number}")
    return TakenAlong(copy, register, declared)


@act
def revoke_register(copy: RegisterCopy, *, by: User, now: datetime) -> None:
    """Call `copy` back: no ticks are taken from it, and its device deletes it when it next reaches us."""
    copy = RegisterCopy.objects.select_for_update().get(pk=copy.pk)
    if copy.revoked_at is None:
        copy.revoked_at = now
        copy.save(update_fields=["revoked_at"])
        record("revoke register copy", copy.walk.offering, by=by, now=now, fields=("revoked_at",))
