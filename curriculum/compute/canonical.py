"""The one form of an account in which it is stored, signed and compared.

Definition: the account as the reader of account files takes it, sets sorted, numbers shortest, empty parts left out, as
JSON with sorted keys, no spaces, UTF-8 and not escaped; beside it the version of the vocabulary. The hash is SHA-256
(FIPS 180-4) of these bytes, in lower-case hexadecimal. Equal hash means the same recorded facts, not true ones.
"""

import hashlib
import json
from collections.abc import Iterable, Mapping
from typing import Any

from curriculum.compute.account import ALL, Account, Interval, Missing, Season, Toxicology, Value
from curriculum.compute.account_format import FORMAT, PLACE


def canonical_json(account: Account, vocabulary_version: int) -> str:
    """The account as JSON text; `read_account` takes its member "account" back to an equal account."""
    whole = {"account": as_dict(account), "vocabulary": vocabulary_version}
    return json.dumps(whole, ensure_ascii=False, sort_keys=True, separators=(",", ":"), allow_nan=False)


def content_hash(account: Account, vocabulary_version: int) -> str:
    """SHA-256 of the canonical JSON, 64 hexadecimal digits."""
    return hashlib.sha256(canonical_json(account, vocabulary_version).encode()).hexdigest()


def as_dict(account: Account) -> dict[str, Any]:
    """The account in the shape of an account file, without empty parts and without what follows from the vocabulary."""
    whole = {
        "format": FORMAT,
        **{key: getattr(account, key) for key in ("taxon", "group", "role", "family", "order", "edibility", "summary")},
        "tier": account.tier,
        "look_order": list(account.look_order),
        "unknown": list(account.unknown),
        "name": _rows(account.names),
        "season": _season(account.season),
        "part": [{"part": one.part, "use": one.use, **_season(one.season)} for one in account.parts],
        "habitat": {key: value for key, value in _values(account, ALL).items() if key in PLACE},
        "characters": _characters(account),
        "caveat": _rows(account.caveats),
        "toxicology": _toxicology(account.toxicology),
        "lookalike": [{**_row(one), "separators": _rows(one.separators)} for one in account.lookalikes],
        "source": _rows(account.sources),
        "cited": {group: _rows(rows) for group, rows in account.cited.items()},
        "memory": {group: list(facts) for group, facts in account.memory.items()},
        "disagreements": list(account.disagreements),
    }
    return _without_empty(whole)


def _characters(account: Account) -> dict[str, Any]:
    everywhere = {key: value for key, value in _values(account, ALL).items() if key not in PLACE}
    return everywhere | {stage: _values(account, stage) for stage in account.characters if stage != ALL}


def _values(account: Account, stage: str) -> dict[str, Any]:
    values = account.characters.get(stage, {})
    return {key: _plain(value) for key, value in values.items() if not isinstance(value, Missing)}


def _plain(value: Value) -> Any:
    if isinstance(value, Interval):
        return [_shortest(value.low), _shortest(value.high)]
    return value.value if isinstance(value, Missing) else sorted(value)


def _shortest(number: float) -> float | int:
    return int(number) if float(number).is_integer() else number


def _season(season: Season) -> dict[str, Any]:
    return {"months": list(season.months), "peak": list(season.peak)}


def _toxicology(toxicology: Toxicology | None) -> dict[str, Any]:
    if toxicology is None:
        return {}
    return {**_row(toxicology), "onset_hours": _plain(toxicology.onset_hours)}


def _rows(rows: Iterable[Any]) -> list[dict[str, Any]]:
    return [_without_empty(_row(one)) for one in rows]


def _row(one: Any) -> dict[str, Any]:
    return {name: _listed(getattr(one, name)) for name in one.__dataclass_fields__}


def _listed(value: Any) -> Any:
    if isinstance(value, tuple):
        return list(value)
    return value.isoformat() if hasattr(value, "isoformat") else value


def _without_empty(table: Mapping[str, Any]) -> dict[str, Any]:
    return {key: _pruned(value) for key, value in table.items() if value is not None and value not in ("", [], {})}


def _pruned(value: Any) -> Any:
    if isinstance(value, dict):
        return _without_empty(value)
    return [_pruned(one) for one in value] if isinstance(value, list) else value
