"""Every plate of the starter curriculum, measured, read and set against its own account."""

import subprocess
import sys
from dataclasses import replace

import pytest

from curriculum.compute.account import UNKNOWN, Interval
from curriculum.compute.drawing.letters import WIDTHS
from curriculum.compute.drawing.plate import plate
from tests.curriculum.compute.drawing.paper import Box, everything, font, geometry, measured, paths, root_of, text_boxes
from tests.curriculum.compute.drawing.plates import changed, drawn
from tests.curriculum.compute.files import ROOM, accounts, vocabulary

ALL_TAXA = sorted(accounts())
SIZES = ("cap_width", "stem_length", "stem_width", "plant_height", "frond_length")


@pytest.mark.parametrize("taxon", ALL_TAXA)
def test_sizes_read_with_the_scale_bar_agree_with_the_account(taxon):
    account, found = accounts()[taxon], measured(drawn(taxon).svg)
    for one in found:
        middles = [_middle(account.value(one.character, stage)) for stage in ("mature", "young")]
        assert min(abs(one.recorded - middle) for middle in middles) < 0.006
        assert one.found == pytest.approx(one.recorded, rel=0.02), one


def _middle(value):
    return (value.low + value.high) / 2 if isinstance(value, Interval) else -1.0


def test_most_recorded_sizes_of_the_main_figure_are_drawn_to_scale():
    recorded = [(t, c) for t, a in accounts().items() for c in SIZES if isinstance(a.value(c, "mature"), Interval)]
    shown = {(t, one.character) for t in ALL_TAXA for one in measured(drawn(t).svg)}
    missing = [pair for pair in recorded if pair not in shown]
    assert len(missing) < 0.2 * len(recorded), missing


@pytest.mark.parametrize("taxon", ALL_TAXA)
def test_no_text_overlaps_another_or_leaves_the_plate(taxon):
    made = drawn(taxon)
    boxes = text_boxes(made.svg)
    assert boxes
    for i, one in enumerate(boxes):
        assert one.left >= 0, one
        assert one.top >= 0, one
        assert one.right <= made.width_mm, one
        assert one.bottom <= made.height_mm, one
        assert not [other.words for other in boxes[i + 1 :] if one.meets(other)], one


def test_an_overlap_would_be_seen():
    assert Box(0, 0, 10, 2).meets(Box(9, 1, 20, 3))
    assert not Box(0, 0, 10, 2).meets(Box(0, 2, 10, 4))


def test_letter_widths_are_those_of_the_font():
    face = font("400-normal")
    names, metrics = face.getBestCmap(), face["hmtx"]
    assert {letter: metrics[names[ord(letter)]][0] for letter in WIDTHS} == WIDTHS


@pytest.mark.parametrize("taxon", ALL_TAXA)
def test_a_plate_is_one_self_contained_svg(taxon):
    made = drawn(taxon)
    root = root_of(made.svg)
    assert [child.tag.split("}")[1] for child in root[:2]] == ["title", "desc"]
    assert root.attrib["viewBox"] == f"0 0 {made.width_mm:g} {made.height_mm:g}"
    for one in root.iter():
        assert not {name for name in one.attrib if name == "style" or "href" in name or name == "id"}
        assert "url(" not in "".join(one.attrib.values())
        assert "nan" not in one.attrib.get("d", "")


@pytest.mark.parametrize("taxon", ALL_TAXA)
def test_nothing_drawn_leaves_the_plate(taxon):
    made = drawn(taxon)
    points = everything(made.svg)
    assert min(x for x, _ in points) >= 0
    assert max(x for x, _ in points) <= made.width_mm
    assert min(y for _, y in points) >= 0
    assert max(y for _, y in points) <= made.height_mm


@pytest.mark.parametrize("taxon", ALL_TAXA)
def test_a_plate_is_light_enough_for_a_page(taxon):
    assert len(drawn(taxon).svg) < 350_000


def test_no_two_species_look_the_same():
    seen: dict[tuple[str, ...], str] = {}
    for taxon in ALL_TAXA:
        key = tuple(geometry(drawn(taxon).svg))
        assert key not in seen, (taxon, seen.get(key))
        seen[key] = taxon


def test_drawn_and_not_drawn_tell_what_the_account_records():
    for taxon, account in accounts().items():
        made = drawn(taxon)
        for character in made.drawn:
            assert account.value(character, "mature") is not UNKNOWN, (taxon, character)
        unknown = {vocabulary().characters[key].label for key in account.unknown}
        assert not unknown & {vocabulary().characters[key].label for key in made.drawn}, taxon


PRINT_HASH = """
import hashlib, sys
sys.path.insert(0, sys.argv[1])
from tests.curriculum.compute.drawing.plates import drawn
print(hashlib.sha256("".join(drawn(t).svg for t in sys.argv[2:]).encode()).hexdigest())
"""


def test_a_plate_is_the_same_in_every_process_and_order():
    taxa = ["sambucus-nigra", "amanita-phalloides", "palmaria-palmata", "pleurotus-ostreatus"]
    home = str(ROOM.parent)
    for taxon in reversed(taxa):
        assert plate(accounts()[taxon], vocabulary()) == drawn(taxon)
    hashes = {
        subprocess.run(
            [sys.executable, "-c", PRINT_HASH, home, *taxa],
            env={"PYTHONHASHSEED": seed, "PATH": ""},
            capture_output=True,
            text=True,
            check=True,
        ).stdout
        for seed in ("1", "2")
    }
    assert len(hashes) == 1


def test_chance_hangs_on_the_taxon_alone():
    account = accounts()["boletus-edulis"]
    other = replace(account, taxon="boletus-aereus")
    assert plate(other, vocabulary()).svg != drawn("boletus-edulis").svg
    assert plate(replace(account, summary="other words"), vocabulary()).svg == drawn("boletus-edulis").svg


def test_unknown_structures_are_neither_drawn_nor_labelled():
    words = {"ring": "ring:", "stem_base": "base:", "stem_inside": "inside:", "gill_attachment": "gills:"}
    for character, label in words.items():
        made = plate(changed("agaricus-campestris", **{character: UNKNOWN}), vocabulary())
        known = plate(changed("agaricus-campestris", **{character: KNOWN[character]}), vocabulary())
        assert _labelled(known, label)
        assert not _labelled(made, label)
        assert vocabulary().characters[character].label in made.not_drawn
        assert character not in made.drawn


def _labelled(made, label):
    return any(box.words.startswith(label) for box in text_boxes(made.svg))


KNOWN = {"ring": "hanging", "stem_base": "bag", "stem_inside": "hollow", "gill_attachment": "free"}


@pytest.mark.parametrize(("character", "plain"), [("ring", "absent"), ("stem_surface", "smooth")])
def test_an_unknown_structure_adds_nothing_that_its_absence_would_not_have(character, plain):
    unknown = plate(changed("agaricus-campestris", **{character: UNKNOWN}), vocabulary())
    absent = plate(changed("agaricus-campestris", **{character: plain}), vocabulary())
    assert _shapes(unknown.svg) == _shapes(absent.svg)


def _shapes(svg):
    """Filled shapes, which labels and leader lines never are."""
    return sorted(one.attrib["d"] for one in paths(svg) if {"paper", "wash"} & set(one.attrib["class"].split()))


def test_an_unknown_base_is_dotted():
    assert "stroke-dasharray" in plate(changed("agaricus-campestris", stem_base=UNKNOWN), vocabulary()).svg
    assert "stroke-dasharray" not in plate(changed("agaricus-campestris", stem_base="plain"), vocabulary()).svg


def test_without_any_size_there_is_no_scale_bar():
    nothing = dict.fromkeys(("cap_width", "stem_length", "stem_width"), UNKNOWN)
    made = plate(changed("agaricus-campestris", **nothing), vocabulary())
    assert "data-bar" not in made.svg
    assert "not to scale" in made.svg


def test_states_that_are_recorded_but_not_drawn_are_named():
    made = drawn("amanita-phalloides")
    assert made.drawn["ring"] == "hanging skirt"
    assert set(made.also["ring"]) == {"traces only", "absent"}
