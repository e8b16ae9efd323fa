"""The roles: Django groups that exist from the first migration on."""

from typing import Any

OFFICE = "office"
GUIDE = "guide"
REVIEWER = "reviewer"
ROLES = (OFFICE, GUIDE, REVIEWER)


def ensure_roles(**_: Any) -> None:
    """Create the groups that are missing; runs after every migrate."""
    from django.contrib.auth.models import Group

    for name in ROLES:
        Group.objects.get_or_create(name=name)
