"""Single flowers and fruits of a plant as small views, to scale where their width is recorded."""

from curriculum.compute.drawing.curves import box
from curriculum.compute.drawing.flower import COUNTS, FRUITS, SPECIAL, draw_flower, draw_fruit
from curriculum.compute.drawing.pen import FINE, Figure, Size
from curriculum.compute.drawing.specimen import Specimen


def flower_view(specimen: Specimen) -> Figure | None:
    """One flower by its petals; None where they are unknown or there are none."""
    petals = specimen.state("petals", (*COUNTS, *SPECIAL))
    if petals in ("", "none"):
        return None
    draft = Figure(specimen.taxon)
    draw_flower(draft, petals)
    words = specimen.label("petals", petals)
    title = f"flower: petals {words}" if petals in SPECIAL else f"flower: {words} petals"
    return _to_size(specimen, draft, "flower_width", title, "petals")


def fruit_view(specimen: Specimen) -> Figure | None:
    """One fruit by its kind; None where it is unknown."""
    kind = specimen.state("fruit", FRUITS)
    if not kind:
        return None
    draft, drawn = Figure(specimen.taxon), Figure(specimen.taxon)
    draw_fruit(drawn, kind)
    draft.include(drawn, (0.0, 0.0), turn=3.14159 if specimen.state("fruit_position") == "hanging" else 0.0)
    return _to_size(specimen, draft, "fruit_width", f"fruit: {specimen.label('fruit', kind)}", "fruit")


def _to_size(specimen: Specimen, draft: Figure, character: str, title: str, organ: str) -> Figure:
    """The draft brought to its recorded width, with a measuring line under it."""
    width = specimen.size(character)
    low, bottom, high, _ = box(point for mark in draft.marks for point in mark.points)
    scale = (width or 1.0) / (high - low)
    figure = Figure(specimen.taxon, title, measured=width is not None, tall=15.0)
    figure.include(draft, (0.0, 0.0), scale=scale)
    figure.anchors.update(dict.fromkeys((character, organ), (0.3 * scale, 0.1 * scale)))
    if width:
        y, tick = (bottom - 0.1) * scale, 0.03 * width
        figure.line(
            [(low * scale, y + tick), (low * scale, y), (high * scale, y), (high * scale, y + tick)],
            FINE,
            sizes=[Size(character, width)],
        )
    return figure
