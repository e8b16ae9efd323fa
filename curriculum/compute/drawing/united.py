"""Parts that are recorded under several characters and drawn as one."""

from curriculum.compute.drawing.specimen import Specimen

NOTHING = ("", "none")
WRAPPED = {"bag": "bag", "collar": "rimmed_bulb", "warts": "warty_bulb"}


def edge_of(specimen: Specimen) -> str:
    """The state of the cap's edge to draw: its fringe or lines where it has them, else its outline."""
    for character in ("cap_fringe", "cap_lines"):
        if specimen.choice(character) not in NOTHING:
            return specimen.state(character)
    return specimen.state("cap_margin")


def base_of(specimen: Specimen) -> str:
    """The state of the stem's base to draw: what wraps it where there is something, else its shape."""
    if specimen.choice("volva") not in NOTHING:
        return WRAPPED[specimen.state("volva")]
    return specimen.state("stem_base")
