"""The policies that ship with the program, as data. A business may set stricter ones of its own."""

import json
import tomllib
from pathlib import Path
from typing import Any

HERE = Path(__file__).resolve().parent


def default_ratios() -> dict[str, Any]:
    """The default ratio policy as the body of a policy row."""
    table = tomllib.loads((HERE / "ratios.toml").read_text(encoding="utf-8"))
    whole: dict[str, Any] = json.loads(json.dumps(table, default=str))
    return whole
