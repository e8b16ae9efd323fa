"""What laws say, as data: files of bookings/policies/ with entries by name, each with where it holds."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

FOLDER = Path(__file__).parent / "policies"


def law_in(file: str, jurisdiction: str) -> tuple[str, Mapping[str, Any]] | None:
    """Name and entry of `file` that holds in `jurisdiction` ("GB-ENG"); None where we hold none."""
    return next((one for one in _laws(file).items() if jurisdiction in one[1]["jurisdictions"]), None)


@cache
def _laws(file: str) -> Mapping[str, Any]:
    return tomllib.loads((FOLDER / file).read_text(encoding="utf-8"))
