"""All views that make up the plate of an account: one main figure, and small ones where there is something to show."""

from collections.abc import Callable
from dataclasses import dataclass

from curriculum.compute.drawing.curves import ellipse
from curriculum.compute.drawing.details import cap_from_beneath, gills_across, standing
from curriculum.compute.drawing.forms import draw_fungus
from curriculum.compute.drawing.parts import flower_view, fruit_view
from curriculum.compute.drawing.pen import FINE, Figure
from curriculum.compute.drawing.plant import habit, leaf_view
from curriculum.compute.drawing.seaweed import hold_view, piece_view, section_view, whole_frond
from curriculum.compute.drawing.specimen import Specimen
from curriculum.compute.drawing.stemcut import stem_across

AGEING = ("form", "cap_shape", "cap_margin", "cap_fringe", "underside", "ring")


@dataclass(frozen=True, slots=True)
class View:
    """The main figure and the small ones, in the order in which they are printed."""

    main: Figure
    details: tuple[Figure, ...]


def views_of(specimen: Specimen) -> View:
    """The views that the group of the account asks for."""
    return GROUPS[specimen.account.group](specimen)


def _view(main: Figure, **details: Figure | None) -> View:
    if not main.marks:
        _nothing_known(main)
    for kind, figure in details.items():
        if figure:
            figure.kind = kind
    return View(main, tuple(figure for figure in details.values() if figure))


def _nothing_known(figure: Figure) -> None:
    """Not one drawable character is recorded: an empty dotted outline, without a scale."""
    ring = ellipse((0.0, 0.0), 20.0, 30.0)
    figure.line([*ring, ring[0]], FINE, dotted=True)
    figure.measured = False


def _plant(specimen: Specimen) -> View:
    return _view(
        habit(specimen),
        leaf=leaf_view(specimen),
        stem=stem_across(specimen),
        flower=flower_view(specimen),
        fruit=fruit_view(specimen),
    )


def _seaweed(specimen: Specimen) -> View:
    return _view(
        whole_frond(specimen), piece=piece_view(specimen), section=section_view(specimen), hold=hold_view(specimen)
    )


def _fungus(specimen: Specimen) -> View:
    main = draw_fungus(specimen)
    return _view(
        main,
        beneath=cap_from_beneath(specimen) if "stem_width" in main.anchors else None,
        across=gills_across(specimen),
        young=young_one(specimen) if specimen.stage == "mature" else None,
        standing=standing(specimen),
    )


def young_one(specimen: Specimen) -> Figure | None:
    """The young one, where it is recorded to look otherwise; to scale only where its own size is recorded."""
    young = Specimen(specimen.account, specimen.vocabulary, "young")
    if not any(_ages(young, specimen, character) for character in AGEING):
        return None
    figure = draw_fungus(young)
    figure.title = "young" if figure.measured else "young, not to scale"
    figure.anchors.clear()
    return figure


def _ages(young: Specimen, grown: Specimen, character: str) -> bool:
    """Whether the state drawn of the young one differs from that of the grown one."""
    early, late = young.choice(character), grown.choice(character)
    return bool(early and late and early != late)


GROUPS: dict[str, Callable[[Specimen], View]] = {"fungus": _fungus, "plant": _plant, "seaweed": _seaweed}
