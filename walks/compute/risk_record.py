"""A risk assessment as plain data for keeping, and back again.

What is kept with a signature must come back as it was, else staleness is judged against what nobody signed.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from walks.compute.risk_assessment import AssessedHazard, Assessment, KeptFact, Risk
from walks.compute.risk_facts import Value
from walks.compute.risk_library import Step
from walks.compute.risk_matrix import Score
from walks.compute.risk_rules import Action, FiredBy


def as_record(assessment: Assessment) -> dict[str, Any]:
    """The assessment as dictionaries, lists, texts, numbers and None: it can be written as JSON."""
    return asdict(assessment)


def from_record(record: Mapping[str, Any]) -> Assessment:
    """The assessment that `as_record` wrote, also after a turn through JSON. KeyError where a part is missing."""
    return Assessment(
        library_version=record["library_version"],
        matrix=record["matrix"],
        matrix_version=record["matrix_version"],
        levels=tuple(record["levels"]),
        steps=tuple(Step(**step) for step in record["steps"]),
        hazards=tuple(_hazard(hazard) for hazard in record["hazards"]),
        facts=tuple(_fact(fact) for fact in record["facts"]),
        emergency=tuple(_fact(fact) for fact in record["emergency"]),
    )


def _hazard(record: Mapping[str, Any]) -> AssessedHazard:
    return AssessedHazard(
        key=record["key"],
        title=record["title"],
        who=record["who"],
        inherent=_risk(record["inherent"]),
        residual=_risk(record["residual"]),
        controls=tuple(record["controls"]),
        further=tuple(Action(**action) for action in record["further"]),
        sources=tuple(record["sources"]),
        fired_by=tuple(FiredBy(cause["fact"], _value(cause["value"])) for cause in record["fired_by"]),
        reason=record["reason"],
    )


def _risk(record: Mapping[str, Any]) -> Risk:
    return Risk(Score(**record["score"]), record["level"])


def _fact(record: Mapping[str, Any]) -> KeptFact:
    return KeptFact(record["fact"], record["version"], _value(record["value"]))


def _value(value: Any) -> Value:
    return tuple(value) if isinstance(value, list | tuple) else value
