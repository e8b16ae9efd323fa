"""One character changed changes the outlines, not only the hatching; what no line can tell apart is listed here."""

from dataclasses import replace
from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from curriculum.compute.account import INAPPLICABLE, STAGES, UNKNOWN, Account, Interval
from curriculum.compute.drawing.plate import plate
from curriculum.compute.drawing.specimen import Specimen
from curriculum.compute.drawing.views import views_of
from tests.curriculum.compute.drawing.paper import root_of, text_boxes
from tests.curriculum.compute.drawing.plates import changed
from tests.curriculum.compute.files import accounts, vocabulary

CAP = "agaricus-campestris"
FAN = "pleurotus-ostreatus"
HERB = "mercurialis-perennis"
WEED = "palmaria-palmata"
# What the neighbouring characters must be for a character to be seen.
POROUS = {"underside": "pores"}
BARE = {"cap_fringe": "none", "cap_lines": "none"}
UMBEL = {"inflorescence": "compound_umbel"}
FORKED = {"frond_form": "forked_fan"}
SMOOTH = {"frond_margin": "smooth"}
PARTED = {"leaf_division": "pinnate"}
CASES = [
    (CAP, "cap_shape", {}), (CAP, "cap_margin", BARE), (CAP, "cap_lines", BARE), (CAP, "cap_fringe", BARE),
    (CAP, "cap_surface", {}), (CAP, "underside", {}), (CAP, "volva", {}),
    (CAP, "gill_attachment", {}), (CAP, "gill_spacing", {}), (CAP, "gill_forking", {}), (CAP, "gill_edge", {}),
    (CAP, "pores", POROUS), (CAP, "stem_position", {}), (CAP, "stem_shape", {}), (CAP, "stem_surface", {}),
    (CAP, "stem_inside", {}), (CAP, "ring", {}), (CAP, "stem_base", {}), (CAP, "flesh_thickness", {}),
    (CAP, "growth", {}), (CAP, "form", {"cap_shape": UNKNOWN}), (FAN, "cap_shape", {}), (FAN, "stem", {}),
    (FAN, "gill_attachment", {}), (FAN, "flesh_thickness", {}), ("calvatia-gigantea", "cut_section", {}),
    ("calvatia-gigantea", "skin", {}), ("morchella-esculenta", "cap_joining", {}),
    (HERB, "leaf_arrangement", {}), (HERB, "leaf_division", {}), (HERB, "leaf_shape", {"leaf_base": UNKNOWN}),
    (HERB, "leaf_base", {"leaf_shape": "elliptic"}), (HERB, "leaf_margin", {}), (HERB, "leaf_veins", {}),
    (HERB, "leaf_stalk", {}), (HERB, "stipules", {}), (HERB, "stem_section", {}), (HERB, "plant_stem_inside", {}),
    (HERB, "leaf_hairs", {}), (HERB, "leaf_marks", {}), (HERB, "leaf_shine", {}),
    (HERB, "inflorescence", {}), (HERB, "petals", {}), (HERB, "fruit", {}),
    (HERB, "underground", {}), (HERB, "bracts", UMBEL), (HERB, "bracteoles", UMBEL), (HERB, "leaflet_number", PARTED),
    (WEED, "frond_form", {}), (WEED, "branching", SMOOTH), (WEED, "frond_margin", {}), (WEED, "frond_section", {}),
    (WEED, "frond_thickness", {}), (WEED, "midrib", {}), (WEED, "bladders", FORKED), (WEED, "stipe", {}),
    (WEED, "holdfast", {}),
]  # fmt: skip
# Words that a line drawing cannot tell apart, with the base account of each.
ALIKE = {
    (CAP, "cap_margin"): [{"smooth", "thin"}],
    (CAP, "cap_surface"): [
        {"smooth", "dry", "leathery"}, {"greasy", "sticky", "slimy", "jelly_skin"}, {"velvety", "downy"},
    ],
    (CAP, "growth"): [
        {"troop", "scattered"}, {"carpet", "clump", "thicket", "stand", "climbing", "belt", "turf", "floating"},
    ],
    (CAP, "underside"): [{"smooth", "none"}],
    (HERB, "leaf_shine"): [{"glossy", "dull"}, {"bloom", "mealy"}],
    (HERB, "leaf_arrangement"): [{"tufted", "scattered_upright"}],
    (HERB, "leaf_stalk"): [{"triangular", "channelled", "hollow"}],
    ("calvatia-gigantea", "cut_section"): [{"button_outline", "cap_and_stem"}],
    (WEED, "branching"): [
        {"forked", "palmate", "irregular"}, {"unbranched", "lobed", "opposite", "alternate", "pinnate"},
    ],
}  # fmt: skip


def outlines(account: Account) -> list[tuple[object, ...]]:
    """Everything in all views but hatching, labels and layout: what remains if light and shade are stripped."""
    views = views_of(Specimen(account, vocabulary()))
    return [
        (mark.kind, mark.fill, mark.dotted, mark.weight, mark.points)
        for figure in (views.main, *views.details)
        for mark in figure.outlines()
    ]


def states(taxon: str, character: str) -> list[str]:
    shapes = {CAP: CAPS, FAN: FANS}.get(taxon) if character == "cap_shape" else None
    return sorted(shapes or vocabulary().characters[character].states)


CAPS = {
    "convex", "hemispherical", "cushion", "flat", "boss", "pointed", "depressed", "funnel", "bell", "conical", "egg",
    "cylindrical",
}  # fmt: skip
FANS = {"fan", "shell", "tongue", "kidney", "ear"}


@pytest.mark.parametrize(("taxon", "character", "beside"), CASES, ids=lambda v: v if isinstance(v, str) else "")
def test_each_pair_of_states_differs_in_geometry(taxon, character, beside):
    drawings = {state: outlines(changed(taxon, **{**beside, character: state})) for state in states(taxon, character)}
    same = [{a, b} for a, b in combinations(drawings, 2) if drawings[a] == drawings[b]]
    allowed = [set(pair) for alike in ALIKE.get((taxon, character), []) for pair in combinations(alike, 2)]
    assert [pair for pair in same if pair not in allowed] == []
    assert [pair for pair in allowed if pair not in same] == []


def account_of_any_values() -> st.SearchStrategy[Account]:
    """A starter account of any group with values of its group's characters drawn at random, unknown ones among them."""
    return st.sampled_from([CAP, HERB, WEED]).flatmap(_filled)


def _filled(taxon: str) -> st.SearchStrategy[Account]:
    account = accounts()[taxon]
    keys = vocabulary().characters_of(account.group)
    one_stage = st.fixed_dictionaries({}, optional={key: _value(key) for key in keys})
    return st.fixed_dictionaries(dict.fromkeys(STAGES, one_stage)).map(lambda given: replace(account, characters=given))


def _value(key: str):
    character = vocabulary().characters[key]
    if character.kind == "range":
        sizes = st.floats(0.5, 15000, allow_nan=False)
        known = st.tuples(sizes, sizes).map(lambda pair: Interval(min(pair), max(pair)))
    else:
        known = st.frozensets(st.sampled_from(sorted(character.states)), min_size=1, max_size=3)
    return st.one_of(known, known, known, st.sampled_from([UNKNOWN, INAPPLICABLE]))


@settings(max_examples=80, deadline=None)
@given(account_of_any_values(), st.sampled_from(STAGES))
def test_any_account_gives_a_whole_plate(account, stage):
    made = plate(account, vocabulary(), stage)
    root_of(made.svg)
    boxes = text_boxes(made.svg)
    for i, one in enumerate(boxes):
        assert one.left >= 0
        assert one.right <= made.width_mm
        assert one.bottom <= made.height_mm
        assert not [other.words for other in boxes[i + 1 :] if one.meets(other)]
