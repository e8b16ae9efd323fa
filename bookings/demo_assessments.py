"""Two signed assessments of the demo season: one that holds, one that a booking has made stale; the rest wait."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from datetime import datetime
from pathlib import Path

from bookings.coming import coming_on
from curriculum.queries import accounts_in_use
from foraywright.floor.models import User
from walks.assessment_state import state_of
from walks.compute.risk_group import Scope
from walks.models import Offering
from walks.queries import with_everything
from walks.services.edit_assessment import choose_group
from walks.services.sign_assessment import Signature, sign_assessment

FILE = Path(__file__).resolve().parent.parent / "fixtures_demo" / "assessments.toml"


def sign_for_the_demo(offerings: Mapping[str, Offering], users: Mapping[str, User], *, now: datetime) -> None:
    """Sign what the file says, through the services, as of `now`."""
    for one in tomllib.loads(FILE.read_text(encoding="utf-8"))["assessment"]:
        walk, by = with_everything(offerings[one["walk"]].walks.all())[0], users[one["by"]]
        choose_group(walk, Scope(one["covers"]), by=by, now=now)
        coming = coming_on(walk, now=now)
        signature = Signature(one["role"], state_of(walk, accounts_in_use(), coming).mark)
        sign_assessment(walk, signature, coming, by=by, now=now)
