"""Cars and dogs: limits that bind what a party brings, never the people."""

from __future__ import annotations

from itertools import product

import pytest

from walks.compute.arrivals import ArrivalRule, Brought, against_arrival, arrival_lines


@pytest.mark.parametrize(
    ("rule", "coming", "brings", "word"),
    [
        (ArrivalRule(0, 2), Brought(1, 0), Brought(1, 0), ""),
        (ArrivalRule(0, 2), Brought(2, 0), Brought(1, 0), "none left"),
        (ArrivalRule(0, 2), Brought(3, 0), Brought(0, 0), ""),
        (ArrivalRule(0, 0), Brought(), Brought(1, 0), "no cars"),
        (ArrivalRule(0, None), Brought(90, 0), Brought(9, 0), ""),
        (ArrivalRule(0, None), Brought(), Brought(0, 1), "stay at home"),
        (ArrivalRule(2, None), Brought(0, 1), Brought(0, 1), ""),
        (ArrivalRule(2, None), Brought(0, 1), Brought(0, 2), "At most 2 dogs"),
        (ArrivalRule(1, None), Brought(), Brought(0, 2), "At most 1 dog may"),
    ],
)
def test_what_has_room(rule: ArrivalRule, coming: Brought, brings: Brought, word: str) -> None:
    reasons = against_arrival(rule, coming, brings)
    assert bool(reasons) is bool(word)
    assert word in " ".join(reasons)


def test_what_is_let_in_breaks_no_limit() -> None:
    few = range(4)
    for dogs, spaces, cars, was, more, pets in product(few, (None, *few), few, few, few, few):
        rule, coming, brings = ArrivalRule(dogs, spaces), Brought(cars, was), Brought(more, pets)
        broken = {line.kind for line in arrival_lines(rule, coming + brings) if not line.kept}
        asked = {kind for kind, number in (("cars", more), ("dogs", pets)) if number}
        assert bool(against_arrival(rule, coming, brings)) is bool(broken & asked)


def test_a_line_says_how_it_stands() -> None:
    lines = arrival_lines(ArrivalRule(1, 4), Brought(5, 1))
    assert [(one.label, one.left, one.kept) for one in lines] == [("Car spaces", -1, False), ("Dogs", 0, True)]
    assert lines[0].sentence == "There is room for 4 cars; 5 are announced; that is 1 too many."
    assert lines[1].sentence == "At most 1 dog may come, on a lead; 1 is announced; none left."
