"""What every page shows: the business, and where the signed-in person may go."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.http import HttpRequest

from foraywright.floor.door import actor_of
from foraywright.floor.models import Business


def house(request: HttpRequest) -> dict[str, Any]:
    """Return `business` (None on an empty start), the actor's `roles`, and whether all staff need a second factor.

    One query.
    """
    return {
        "business": Business.objects.first(),
        "roles": actor_of(request).roles if hasattr(request, "user") else (),
        "second_factor_demanded": settings.SECOND_FACTOR_REQUIRED,
    }
