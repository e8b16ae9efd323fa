"""Holds the computations to figures that others published."""

import re
from collections.abc import Callable
from typing import Any

import pytest

from tests.published.loader import Case, Refusal, distance, load_all
from tests.published.registry import COMPUTATIONS

SOURCES = load_all()
CASES = [case for source in SOURCES for case in source.cases]
REFUSALS = [refusal for source in SOURCES for refusal in source.refusals]
Record = Callable[[str, Any], None]


def _name(entry: Case | Refusal) -> str:
    return f"{entry.source}: {entry.name}"


@pytest.mark.parametrize("case", CASES, ids=_name)
def test_the_published_figure_comes_out(case: Case, record_property: Record) -> None:
    record_property("published", [case.source, "case", case.seen])

    got = COMPUTATIONS[case.computes].compute(**case.given)

    off = distance(case.expected, got)
    unit = COMPUTATIONS[case.computes].unit
    assert off <= case.tolerance, (
        f"{case.expected} is published, {got} came out: {off} off, {case.tolerance} {unit} allowed"
    )


@pytest.mark.parametrize("refusal", REFUSALS, ids=_name)
def test_what_must_be_refused_is(refusal: Refusal, record_property: Record) -> None:
    record_property("published", [refusal.source, "refusal", refusal.seen])

    with pytest.raises(ValueError, match=f"^{re.escape(refusal.sentence)}$"):
        COMPUTATIONS[refusal.computes].compute(**refusal.given)


def test_every_computation_of_the_registry_is_held_to_something() -> None:
    held = {entry.computes for entry in (*CASES, *REFUSALS)}

    assert sorted(held) == sorted(COMPUTATIONS)
