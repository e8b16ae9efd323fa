"""What a copy of the register holds: what its device may read in the open, and what it seals under the guide's code."""

from __future__ import annotations

import logging
from typing import Any
from uuid import uuid4

from crispy_forms.utils import render_crispy_form
from django.urls import reverse

from bookings.compute.device_seal import public_half
from bookings.forms import child_field
from bookings.models import Declaration
from bookings.price_forms import field_of
from bookings.queries import ADULT, prices_of
from bookings.register import OnTheDay
from bookings.services.take_register import TakenAlong
from bookings.walk_up_forms import WalkUpForm
from curriculum.queries import accounts_in_use
from foraywright.floor.sealed import NotOpened
from walks.compute.age_bands import RatioPolicy
from walks.compute.frozen_limits import band_number, frozen_limits
from walks.find_forms import FindForm
from walks.finds import likely_first
from walks.models import Walk
from walks.queries import ratio_policy, walk_limits

logger = logging.getLogger(__name__)


def contents(walk: Walk, taken: TakenAlong) -> dict[str, Any]:
    """Everything that goes to the device, ready for JSON."""
    limits, key = walk_limits(walk), taken.copy.private_key
    assert key is not None, "a copy that is taken along now has its key"
    return {
        "copy": taken.copy.public_id,
        "ticks": reverse("staff_copy_ticks", args=[walk.offering.public_id, walk.number, taken.copy.public_id]),
        "kept_until": taken.copy.kept_until.isoformat(),
        "title": f"{walk.offering.title}, {walk.local_start:%-d %B, %H:%M}",
        "seal_for": public_half(key),
        "sealed": {
            "as_of": taken.copy.taken_at.isoformat(),
            "staff": taken.register.staff,
            "people": [_person(one, taken.declared.get(one.person.pk), limits.policy) for one in taken.register.people],
            "limits": frozen_limits(limits.policy, limits.caps, limits.staff),
            "walk_up": _walk_up(walk),
            "find": _find(walk),
        },
    }


def _person(one: OnTheDay, declared: Declaration | None, policy: RatioPolicy) -> dict[str, Any]:
    """One line of it. `shut`: whom to ring is there and does not open, which keeps no other line off the device."""
    ring, shut = _ring(declared)
    return {
        "id": one.person.public_id,
        "name": one.attendee.name,
        "band": one.person.band if one.is_child else "",
        "number": band_number(policy, one.person.youngest_age),
        "in_charge": one.guardian.name if one.guardian else "",
        "guardian": one.guardian.place.person.public_id if one.guardian else "",
        "standing": one.attendee.standing,
        "asked": one.asked,
        "ring": ring,
        "shut": shut,
    }


def _ring(declared: Declaration | None) -> tuple[dict[str, str] | None, bool]:
    if declared is None:
        return None, False
    try:
        return {part: getattr(declared, f"emergency_{part}") for part in ("name", "phone", "relation")}, False
    except NotOpened as fault:
        logger.error("%s", fault)
        return None, True


def _walk_up(walk: Walk) -> dict[str, Any]:
    """The form for whoever comes unbooked, the bands of its number fields, and what one of each adds to pay."""
    bands, prices = ratio_policy(walk.offering.ratios).bands, prices_of(walk.offering)
    fields = {"adults": ADULT} | {child_field(band): band.key for band in bands}
    form = WalkUpForm(offering=walk.offering, bands=bands, without_signal=True, initial={"adults": "1", "key": uuid4()})
    adds = {field: prices.price(band) for field, band in fields.items()}
    adds |= {field_of(one): one.price - prices.price(one.band) for one in prices.concessions}
    lower = {
        field_of(one): next(name for name, band in fields.items() if band == one.band) for one in prices.concessions
    }
    return {
        "form": _html(form),
        "fields": list(fields.items()),
        "lower": list(lower.items()),
        "adds": adds,
        "currency": prices.currency,
    }


def _find(walk: Walk) -> str:
    """The form for a find, what the walk may meet first."""
    return _html(FindForm(accounts=likely_first(walk, accounts_in_use())))


def _html(form: Any) -> str:
    """The form without a token: that is fetched when it is sent."""
    form.helper.disable_csrf = True
    return render_crispy_form(form)
