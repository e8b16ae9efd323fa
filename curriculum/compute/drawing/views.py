"""All views that make up the plate of an account: one main figure, and small ones where there is something to show."""

from collections.abc import Callable
from dataclasses import dataclass

from curriculum.compute.account import Account
from curriculum.compute.drawing.details import cap_from_beneath, gills_across, standing
from curriculum.compute.drawing.forms import draw_fungus
from curriculum.compute.drawing.parts import flower_view, fruit_view
from curriculum.compute.drawing.pen import Figure
from curriculum.compute.drawing.plant import habit, leaf_view, stem_across
from curriculum.compute.drawing.seaweed import hold_view, piece_view, section_view, whole_frond
from curriculum.compute.drawing.specimen import Specimen

AGEING = ("form", "cap_shape", "cap_margin", "underside", "ring")


@dataclass(frozen=True, slots=True)
class View:
    """The main figure and the small ones, in the order in which they are printed."""

    main: Figure
    details: tuple[Figure, ...]


def views_of(specimen: Specimen) -> View:
    """The views that the group of the account asks for."""
    return GROUPS[specimen.account.group](specimen)


def _plant(specimen: Specimen) -> View:
    found = (leaf_view(specimen), stem_across(specimen), flower_view(specimen), fruit_view(specimen))
    return View(habit(specimen), tuple(figure for figure in found if figure))


def _fungus(specimen: Specimen) -> View:
    main = draw_fungus(specimen)
    found = [cap_from_beneath(specimen) if main.anchors.get("stem_width") else None, gills_across(specimen)]
    found += [young_one(specimen) if specimen.stage == "mature" else None, standing(specimen)]
    return View(main, tuple(figure for figure in found if figure))


def young_one(specimen: Specimen) -> Figure | None:
    """The young one, where it is recorded to look otherwise; to scale only where its own size is recorded."""
    young = Specimen(specimen.account, specimen.vocabulary, "young")
    if not _ages(specimen.account, young, specimen):
        return None
    figure = draw_fungus(young)
    figure.title = "young" if figure.measured else "young, not to scale"
    return figure


def _ages(account: Account, young: Specimen, grown: Specimen) -> bool:
    """Whether the state drawn of the young one differs."""
    pairs = ((young.states(c) and young.state(c), grown.states(c) and grown.state(c)) for c in AGEING)
    return any(a and b and a != b for a, b in pairs)


def _seaweed(specimen: Specimen) -> View:
    found = (piece_view(specimen), section_view(specimen), hold_view(specimen))
    return View(whole_frond(specimen), tuple(figure for figure in found if figure))


GROUPS: dict[str, Callable[[Specimen], View]] = {"fungus": _fungus, "plant": _plant, "seaweed": _seaweed}
