"""The hazard library as shipped, an ordinary walk, and facts at random: what the tests of the risk assessment share."""

import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from hypothesis import strategies as st

from walks.compute.risk_facts import LAST_MINUTE, Fact
from walks.compute.risk_library import library_from
from walks.compute.risk_matrix import matrices_from

HAZARDS = Path(__file__).parents[3] / "walks" / "hazards"
FILES: dict[str, dict[str, Any]] = {
    path.name: tomllib.loads(path.read_text(encoding="utf-8")) for path in sorted(HAZARDS.glob("library/*.toml"))
}
MATRICES_FILE = tomllib.loads((HAZARDS / "matrices.toml").read_text(encoding="utf-8"))

LIBRARY = library_from(FILES)
MATRICES = matrices_from("matrices.toml", MATRICES_FILE)
FIVE_BY_FIVE = MATRICES["five-by-five"]

TAXA = ("amanita-phalloides", "conium-maculatum", "galerina-marginata", "oenanthe-crocata")

WOOD_IN_JUNE: Mapping[str, Any] = {
    "activities": ["walk"],
    "habitats": ["broadleaved_wood"],
    "site_hazards": [],
    "month": 6,
    "start_minute": 600,
    "end_minute": 780,
    "ends_after_sunset": False,
    "night_walk": False,
    "twilight_margin_min": 500,
    "deadly_expected": [],
    "poisonous_expected": [],
    "touch_hazard_expected": [],
    "children_bands": [],
    "young_children": False,
    "unaccompanied_children": False,
    "group_size_band": "7 to 12",
    "guides_count": 2,
    "lone_guide": False,
    "first_aider_present": True,
    "mobile_coverage": "good",
    "emergency_minutes": 20,
    "tidal": False,
    "low_water_known": True,
    "route_ascent_band": "level",
    "step_free": True,
    "dogs_allowed": False,
    "open_follow_ups": frozenset(),
    "lasting_controls": frozenset(),
    "cattle": False,
    "roadside": False,
    "protected_site": False,
    "access_controls": [],
}


def values(fact: Fact) -> st.SearchStrategy[Any]:
    """Any known value of a fact."""
    return {
        "flag": st.booleans(),
        "scale": st.sampled_from(fact.words or ("",)),
        "number": st.integers(fact.lowest, fact.highest),
        "set": st.lists(st.sampled_from(fact.words or TAXA), unique=True, max_size=4),
        "month": st.integers(1, 12),
        "time": st.integers(0, LAST_MINUTE),
    }[fact.kind]


def walks() -> st.SearchStrategy[dict[str, Any]]:
    """Facts at random, some of them not known."""
    known = {key: st.none() | values(fact) for key, fact in LIBRARY.facts.items()}
    return st.fixed_dictionaries(known)


@st.composite
def worse(draw: st.DrawFn, fact: Fact, value: Any) -> Any:
    """A value of the same fact that is as dangerous or more; None, not known, is the most dangerous."""
    if value is None or (fact.unknown_counts_where is None and draw(st.booleans())):
        return None
    if fact.kind == "flag":
        return draw(st.sampled_from([value, fact.worse == "true"]))
    if fact.kind == "scale":
        return draw(st.sampled_from(fact.words[fact.words.index(value) :]))
    if fact.kind == "number":
        low, high = (value, fact.highest) if fact.worse == "higher" else (fact.lowest, value)
        return draw(st.integers(low, high))
    if fact.kind == "set":
        return sorted({*value, *draw(values(fact))})
    return value
