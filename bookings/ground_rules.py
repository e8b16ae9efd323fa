"""The ground rules: a versioned policy, so that it is known which version somebody accepted."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import TYPE_CHECKING, Any

from django.utils import timezone

if TYPE_CHECKING:
    from foraywright.floor.models import PolicyVersion

FIRST_VERSION = Path(__file__).parent / "policies" / "ground_rules.toml"


def ensure_ground_rules(**_: Any) -> None:
    """Write version 1 where there is none; runs after every migrate."""
    from foraywright.floor.models import PolicyVersion

    kind = PolicyVersion.Kind.GROUND_RULES
    if PolicyVersion.objects.filter(kind=kind).exists():
        return
    first = tomllib.loads(FIRST_VERSION.read_text(encoding="utf-8"))
    body = {"rules": first["rules"]}
    PolicyVersion.objects.create(kind=kind, number=1, body=body, source=first["source"], since=timezone.now())


def rules_in_force() -> PolicyVersion:
    """The newest ground rules. One query."""
    from foraywright.floor.models import PolicyVersion

    return PolicyVersion.objects.filter(kind=PolicyVersion.Kind.GROUND_RULES).latest("number")
