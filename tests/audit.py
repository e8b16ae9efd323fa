"""What every test of an act asks in the end: that no line of the audit holds what is personal."""

from __future__ import annotations

import re

from django.apps import apps
from django.db import connection

from foraywright.floor.models import AuditLine

NAME_OF_A_FIELD = re.compile(r"[a-z][a-z0-9_ -]*")
SHORTEST = 4
"""Letters: less may be a part of any word."""

OPEN = (
    ("Contact", ("name", "email", "phone", "address")),
    ("Person", ("name",)),
    ("LiftShare", ("area", "first_name")),
    ("BankLine", ("text", "payer")),
    ("GroupEnquiry", ("name", "email", "phone", "dates", "ages", "needs")),
    ("Invoice", ("buyer",)),
)
"""What lies open of participants, and can be compared without a key."""


def the_audit_names_nobody() -> None:
    """Assert that its lines hold names of fields only, and no value of a participant who is in the database."""
    if connection.needs_rollback:
        return
    lines = list(AuditLine.objects.values_list("act", "fields", "reason"))
    values = _values() if any(reason for *_, reason in lines) else set()
    for act, fields, reason in lines:
        assert all(NAME_OF_A_FIELD.fullmatch(one) for one in fields), f"{act} writes values: {fields}"
        assert not [one for one in values if one in f"{act} {reason}"], f"{act} writes down who it was: {reason}"


def _values() -> set[str]:
    found: set[str] = set()
    for model, names in OPEN:
        for row in apps.get_model("bookings", model).objects.values_list(*names):
            found |= {value for value in row if len(value) >= SHORTEST}
    return found
