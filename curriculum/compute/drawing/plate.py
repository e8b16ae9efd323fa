"""Plates: the figures of one account with labels, leader lines and scale bars, as one SVG.

A plate is drawn from the recorded characters alone. Sizes are the middles of the recorded ranges; what is unknown is
left out or dotted and named in `not_drawn`. It is a teaching aid: it must not be taken for a picture of any one find.
"""

from collections.abc import Sequence

from curriculum.compute.account import Account
from curriculum.compute.drawing.curves import Point
from curriculum.compute.drawing.ink import Placing, inked
from curriculum.compute.drawing.labels import COLUMN, Label, Spot, column, labels_of, leader
from curriculum.compute.drawing.letters import ASCENT, LEADING, SIZE, lines
from curriculum.compute.drawing.pen import Figure
from curriculum.compute.drawing.sheet import MARGIN, WIDTH, Plate, Sheet, scale_to_fit, tall_of, wide_of
from curriculum.compute.drawing.specimen import Specimen
from curriculum.compute.drawing.views import View, views_of
from curriculum.compute.vocabulary import Vocabulary

MAIN_WIDTH = WIDTH - 2 * COLUMN - 2 * MARGIN - 4
MAIN_HEIGHT = 64.0
WIDEST_DETAIL = 34.0
NARROWEST = 19.0
ACROSS = 4


def plate(account: Account, vocabulary: Vocabulary, stage: str = "mature", *, details: bool = True) -> Plate:
    """The plate of one account at a stage: the main figure with labels, and with `details` small views below it."""
    specimen = Specimen(account, vocabulary, stage)
    views = views_of(specimen)
    views = views if details else View(views.main, ())
    sheet = Sheet()
    _main(sheet, views.main, labels_of(specimen, views.main))
    _details(sheet, views)
    title, description = f"{account.vernacular()} ({account.accepted_name})", told(specimen, views)
    height = sheet.y + MARGIN
    others = {character: tuple(specimen.others(character)) for character in specimen.drawn}
    return Plate(
        svg=sheet.svg(height, title, description),
        width_mm=WIDTH,
        height_mm=round(height, 2),
        title=title,
        description=description,
        drawn={c: specimen.label(c, s) if s else "" for c, s in specimen.drawn.items()},
        also={c: words for c, words in others.items() if words},
        not_drawn=tuple(specimen.name(c) for c in specimen.missing),
    )


def _main(sheet: Sheet, figure: Figure, labels: list[Label]) -> None:
    """The main figure between its two columns of labels, its scale bar under it."""
    scale = scale_to_fit(figure, MAIN_WIDTH, MAIN_HEIGHT)
    x0, _, x1, y1 = figure.box()
    spots = [Spot(label, _from_middle(figure, label.at, scale)) for label in labels]
    tall = max(tall_of(figure) * scale, *(column(spots, side)[1] for side in (0, 1)))
    placing = Placing(scale, WIDTH / 2 - (x0 + x1) / 2 * scale, sheet.y + y1 * scale)
    sheet.pieces.append(inked(figure, placing))
    for side in (0, 1):
        _column(sheet, spots, side, placing, tall)
    sheet.y += tall + 1.5
    sheet.bar(figure, scale, WIDTH / 2)


def _from_middle(figure: Figure, at: Point, scale: float) -> Point:
    """An anchor in millimetres of paper from the figure's middle and top."""
    x0, _, x1, y1 = figure.box()
    return (at[0] - (x0 + x1) / 2) * scale, (y1 - at[1]) * scale


def _column(sheet: Sheet, spots: list[Spot], side: int, placing: Placing, tall: float) -> None:
    placed, _ = column(spots, side, tall)
    edge = MARGIN + COLUMN if side == 0 else WIDTH - MARGIN - COLUMN
    for spot, top in placed:
        for k, words in enumerate(spot.label.lines):
            css = "label" if k < spot.label.plain else "label also"
            base = sheet.y + top + ASCENT * SIZE + k * LEADING
            sheet.text(edge, base, words, "end" if side == 0 else "start", css)
        sheet.line(leader(edge, side, sheet.y + top, placing.on_paper(spot.label.at)))


def _details(sheet: Sheet, views: View) -> None:
    """Small views in rows of up to four, each over its caption."""
    rows = -(-len(views.details) // ACROSS)
    each = -(-len(views.details) // max(rows, 1))
    for row in range(rows):
        _row(sheet, views.details[row * each : (row + 1) * each])


def _row(sheet: Sheet, figures: Sequence[Figure]) -> None:
    """Cells as wide as their figures ask for, feet on one level."""
    scales = [scale_to_fit(figure, WIDEST_DETAIL, figure.tall) for figure in figures]
    asked = [max(wide_of(figure) * scale, NARROWEST) for figure, scale in zip(figures, scales, strict=True)]
    share = (WIDTH - 2 * MARGIN) / sum(asked)
    cells = [room * share for room in asked]
    scales = [min(s, (cell - 3) / wide_of(f)) for f, s, cell in zip(figures, scales, cells, strict=True)]
    deep = max(tall_of(figure) * scale for figure, scale in zip(figures, scales, strict=True))
    top, left, lowest = sheet.y + 2, MARGIN, sheet.y
    for figure, scale, cell in zip(figures, scales, cells, strict=True):
        sheet.y = top
        _detail(sheet, figure, scale, left + cell / 2, deep, cell - 2.5)
        left += cell
        lowest = max(lowest, sheet.y)
    sheet.y = lowest + 1


def _detail(sheet: Sheet, figure: Figure, scale: float, middle: float, deep: float, room: float) -> None:
    x0, y0, x1, _ = figure.box()
    placing = Placing(scale, middle - (x0 + x1) / 2 * scale, sheet.y + deep + y0 * scale)
    sheet.pieces.append(inked(figure, placing, lighter=0.75))
    sheet.y += deep + 1
    if figure.measured:
        sheet.bar(figure, scale, middle, 14.0)
    for words in lines(figure.title, room):
        sheet.text(middle, sheet.y + ASCENT * SIZE, words, "middle")
        sheet.y += LEADING


def told(specimen: Specimen, views: View) -> str:
    """The drawing in words, for those who do not see it."""
    parts = [f"{specimen.name(c)}: {specimen.label(c, s)}" for c, s in specimen.drawn.items() if s]
    details = [figure.title for figure in views.details if figure.title]
    return "Drawn from the recorded characters, sizes at the middle of their range. " + "; ".join(parts + details) + "."
