"""Which drawing an account asks for: by its group and its form."""

from collections.abc import Callable

from curriculum.compute.drawing.ball import ball
from curriculum.compute.drawing.bracket import shelf_on_wood
from curriculum.compute.drawing.bush import DRAW as BUSHES
from curriculum.compute.drawing.bush import bush
from curriculum.compute.drawing.cup import cup, ear
from curriculum.compute.drawing.fungus import stemmed
from curriculum.compute.drawing.head import head_on_stem
from curriculum.compute.drawing.pen import Figure
from curriculum.compute.drawing.specimen import Specimen


def draw_fungus(specimen: Specimen) -> Figure:
    """The main figure of a fungus by its form; a cup that is recorded as ear-shaped is drawn as an ear."""
    form = specimen.state("form")
    if form == "cup" and "ear" in specimen.states("cap_shape"):
        return ear(specimen)
    return FORMS.get(form, stemmed)(specimen)


FORMS: dict[str, Callable[[Specimen], Figure]] = {
    "cap_and_stem": stemmed, "fan": shelf_on_wood, "bracket": shelf_on_wood, "trumpet": cup, "cup": cup, "ear": ear,
    "ball": ball, "egg": ball, "honeycomb": head_on_stem, "brain": head_on_stem, **dict.fromkeys(BUSHES, bush),
}  # fmt: skip
