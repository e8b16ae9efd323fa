"""Two lookalikes on one plate: one scale, marks only on what is drawn, nothing overlapping."""

import pytest

from curriculum.compute.account import UNKNOWN
from curriculum.compute.drawing.pair import pair_plate
from tests.curriculum.compute.drawing.paper import measured, outline, paths, root_of, text_boxes
from tests.curriculum.compute.drawing.plates import changed
from tests.curriculum.compute.files import accounts, vocabulary

NAMED = sorted(
    {
        tuple(sorted((account.taxon, alike.taxon)))
        for account in accounts().values()
        for alike in account.lookalikes
        if alike.taxon in accounts() and accounts()[alike.taxon].group == account.group
    }
)


def separating(a, b):
    """Characters of which the two share no recorded state."""
    keys = vocabulary().characters_of(a.group)
    return [key for key in keys if a.states(key) and b.states(key) and not set(a.states(key)) & set(b.states(key))]


def pair(one, other, *, small=False):
    a, b = accounts()[one], accounts()[other]
    return pair_plate(a, b, vocabulary(), separating(a, b), small=small)


@pytest.mark.parametrize("names", NAMED, ids="/".join)
def test_every_named_pair_gives_a_clean_plate(names):
    check_clean(pair(*names))


@pytest.mark.parametrize("names", NAMED[::4], ids="/".join)
def test_a_small_plate_is_clean_and_has_room_on_a_sheet(names):
    made = pair(*names, small=True)
    check_clean(made)
    assert made.height_mm < 100
    assert {line[0] for line in made.legend} <= {box.words for box in text_boxes(made.svg)}


def check_clean(made):
    root_of(made.svg)
    for one in measured(made.svg):
        assert one.found == pytest.approx(one.recorded, rel=0.02), one
    boxes = text_boxes(made.svg)
    for i, one in enumerate(boxes):
        assert one.left >= 0, one
        assert one.right <= made.width_mm, one
        assert one.bottom <= made.height_mm, one
        assert not [other.words for other in boxes[i + 1 :] if one.meets(other)], one


def test_both_stand_at_one_scale():
    bars = [
        one for one in paths(pair("pleurotus-ostreatus", "pleurocybella-porrigens").svg) if "data-bar" in one.attrib
    ]
    scales = {_length(one.attrib["d"]) / float(one.attrib["data-bar"]) for one in bars[:2]}
    assert len(bars) >= 2
    assert max(scales) == pytest.approx(min(scales), rel=0.01)


def _length(data):
    points = outline(data)
    return points[-1][0] - points[0][0]


def test_marks_and_legend_tell_the_same_letters():
    made = pair("cantharellus-cibarius", "omphalotus-illudens")
    letters = {box.words for box in text_boxes(made.svg) if len(box.words) == 1}
    assert letters == {line[0] for line in made.legend}
    edge = next(line for line in made.legend if line[1] == vocabulary().characters["gill_edge"].label)
    assert edge[2:] == ("blunt, rounded", "sharp, like a knife")


def test_what_no_drawing_shows_is_named_and_gets_no_letter():
    a, b = accounts()["amanita-phalloides"], accounts()["agaricus-campestris"]
    made = pair_plate(a, b, vocabulary(), ["underside_colour", "smell", "stem_base"])
    assert made.not_drawn == tuple(vocabulary().characters[key].label for key in ("underside_colour", "smell"))
    assert [line[0] for line in made.legend] == ["A"]


def test_an_unknown_character_is_not_marked_on_the_side_that_lacks_it():
    a, b = changed("amanita-phalloides", ring="hanging"), changed("agaricus-campestris", ring=UNKNOWN)
    made = pair_plate(a, b, vocabulary(), ["ring"])
    assert made.legend == (("A", "ring or veil on the stem", "hanging skirt", "not recorded"),)
    assert len([box for box in text_boxes(made.svg) if box.words == "A"]) == 1
