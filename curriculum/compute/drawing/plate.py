"""Plates: figures with labels, leader lines and scale bars, as one SVG each.

A plate is drawn from the recorded characters alone. Sizes are the middles of the recorded ranges; what is unknown is
left out or dotted and named in `not_drawn`. It is a teaching aid: it must not be taken for a picture of any one find.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from xml.sax.saxutils import escape

from curriculum.compute.account import Account
from curriculum.compute.drawing.ink import INK, Placing, inked, number
from curriculum.compute.drawing.labels import COLUMN, Label, Spot, column, labels_of, leader
from curriculum.compute.drawing.letters import ASCENT, FAMILY, LEADING, SIZE, lines
from curriculum.compute.drawing.pen import Figure
from curriculum.compute.drawing.specimen import Specimen
from curriculum.compute.drawing.views import View, views_of
from curriculum.compute.vocabulary import Vocabulary

WIDTH = 110.0
MARGIN = 1.5
MAIN_WIDTH = WIDTH - 2 * COLUMN - 2 * MARGIN - 4
MAIN_HEIGHT = 64.0
WIDEST_DETAIL = 34.0
NARROWEST = 19.0
ACROSS = 4
UNSCALED = "not to scale: size not recorded"
BARS = (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000)


@dataclass(frozen=True, slots=True)
class Plate:
    """An SVG with its natural size on paper.

    `drawn` maps each character that shaped the drawing to the words of the state drawn ("" for sizes), `also` to the
    recorded states that are not drawn; `not_drawn` names drawable characters that are unknown. `legend` explains marks:
    letter, character, words for the first and for the second taxon.
    """

    svg: str
    width_mm: float
    height_mm: float
    title: str
    description: str
    drawn: dict[str, str]
    also: dict[str, tuple[str, ...]]
    not_drawn: tuple[str, ...]
    legend: tuple[tuple[str, str, str, str], ...] = ()


@dataclass
class Sheet:
    """What is put on paper so far: pieces of SVG and every text's box, from the top down."""

    pieces: list[str] = field(default_factory=list)
    y: float = MARGIN

    def text(self, x: float, y: float, words: str, anchor: str = "start", css: str = "label") -> None:
        """One line of text; y is its baseline."""
        place = f'x="{number(x)}" y="{number(y)}"'
        style = "" if css == "label" else ' font-style="italic"'
        self.pieces.append(
            f'<text class="{css}" {place} font-size="{SIZE}" font-family="{FAMILY}" fill="{INK}"{style}'
            f' text-anchor="{anchor}">{escape(words)}</text>'
        )

    def line(self, points: Sequence[tuple[float, float]], weight: float = 0.12, extra: str = "") -> None:
        """A straight thin line through paper points."""
        data = "M" + "L".join(f"{number(x)} {number(y)}" for x, y in points)
        self.pieces.append(
            f'<path class="ink-line" fill="none" stroke="{INK}" stroke-width="{weight}"{extra} d="{data}"/>'
        )


def plate(account: Account, vocabulary: Vocabulary, stage: str = "mature") -> Plate:
    """The plate of one account at a stage: the main figure with labels, and small views below it."""
    specimen = Specimen(account, vocabulary, stage)
    views = views_of(specimen)
    sheet = Sheet()
    _main(sheet, views.main, labels_of(specimen, views.main))
    _details(sheet, views)
    title = f"{account.vernacular()} ({account.accepted_name})"
    return _finished(sheet, title, _told(specimen, views), specimen)


def _main(sheet: Sheet, figure: Figure, labels: list[Label]) -> None:
    scale = _scale(figure, MAIN_WIDTH, MAIN_HEIGHT)
    x0, y0, x1, y1 = figure.box()
    spots = [Spot(label, _paper(figure, label, scale)) for label in labels]
    tall = max((y1 - y0) * scale, *(column(spots, side)[1] for side in (0, 1)))
    placing = Placing(scale, WIDTH / 2 - (x0 + x1) / 2 * scale, sheet.y + y1 * scale)
    sheet.pieces.append(inked(figure, placing))
    for side in (0, 1):
        _column(sheet, figure, spots, side, placing, tall)
    sheet.y += tall + 1.5
    _bar(sheet, figure, scale, WIDTH / 2)


def _paper(figure: Figure, label: Label, scale: float) -> tuple[float, float]:
    """An anchor in millimetres of paper from the figure's middle and top."""
    x0, _, x1, y1 = figure.box()
    x, y = label.at
    return (x - (x0 + x1) / 2) * scale, (y1 - y) * scale


def _column(sheet: Sheet, figure: Figure, spots: list[Spot], side: int, placing: Placing, tall: float) -> None:
    placed, _ = column(spots, side, tall)
    edge = MARGIN + COLUMN if side == 0 else WIDTH - MARGIN - COLUMN
    for spot, top in placed:
        for k, words in enumerate(spot.label.lines):
            css = "label" if k < spot.label.plain else "label also"
            sheet.text(edge, sheet.y + top + ASCENT * SIZE + k * LEADING, words, "end" if side == 0 else "start", css)
        sheet.line(leader(edge, side, sheet.y + top, placing.on_paper(spot.label.at)))


def _scale(figure: Figure, wide: float, high: float) -> float:
    x0, y0, x1, y1 = figure.box()
    return min(wide / (x1 - x0), high / (y1 - y0))


def _bar(sheet: Sheet, figure: Figure, scale: float, middle: float, room: float = 24.0) -> None:
    """A scale bar of a round length, or the words that say that there is none."""
    if not figure.measured:
        sheet.text(middle, sheet.y + SIZE, figure.note or UNSCALED, "middle", "label also")
        sheet.y += LEADING + 1.5
        return
    length = max((bar for bar in BARS if bar * scale <= room), default=BARS[0])
    left, right = middle - length * scale / 2, middle + length * scale / 2
    y = sheet.y + 1.2
    sheet.line([(left, y), (right, y)], 0.28, f' data-bar="{length}"')
    for x in (left, middle, right):
        sheet.line([(x, y - 0.7), (x, y + 0.7)], 0.28)
    sheet.text(middle, y + 0.9 + SIZE, _length(length), "middle")
    sheet.y += SIZE + 4.2


def _length(millimetres: int) -> str:
    if millimetres >= 1000:
        return f"{millimetres // 1000} m"
    return f"{millimetres // 10} cm" if millimetres >= 10 else f"{millimetres} mm"


def _details(sheet: Sheet, views: View) -> None:
    """Small views in rows of up to four, each over its caption."""
    rows = -(-len(views.details) // ACROSS)
    each = -(-len(views.details) // max(rows, 1))
    for row in range(rows):
        _row(sheet, views.details[row * each : (row + 1) * each])


def _row(sheet: Sheet, figures: Sequence[Figure]) -> None:
    """Cells as wide as their figures ask for, feet on one level."""
    scales = [_scale(figure, WIDEST_DETAIL, figure.tall) for figure in figures]
    asked = [max(_wide(figure) * scale, NARROWEST) for figure, scale in zip(figures, scales, strict=True)]
    share = (WIDTH - 2 * MARGIN) / sum(asked)
    scales = [
        min(scale, (share * room - 3) / _wide(figure))
        for figure, scale, room in zip(figures, scales, asked, strict=True)
    ]
    deep = max(_tall(figure) * scale for figure, scale in zip(figures, scales, strict=True))
    top, left, lowest = sheet.y + 2, MARGIN, sheet.y
    for figure, scale, room in zip(figures, scales, asked, strict=True):
        cell = room * share
        sheet.y = top
        _detail(sheet, figure, scale, left + cell / 2, deep, cell - 2.5)
        left += cell
        lowest = max(lowest, sheet.y)
    sheet.y = lowest + 1


def _detail(sheet: Sheet, figure: Figure, scale: float, middle: float, deep: float, room: float) -> None:
    x0, y0, x1, y1 = figure.box()
    placing = Placing(scale, middle - (x0 + x1) / 2 * scale, sheet.y + deep + y0 * scale)
    sheet.pieces.append(inked(figure, placing, lighter=0.75))
    sheet.y += deep + 1
    if figure.measured:
        _bar(sheet, figure, scale, middle, 14.0)
    for words in lines(figure.title, room):
        sheet.text(middle, sheet.y + ASCENT * SIZE, words, "middle")
        sheet.y += LEADING


def _wide(figure: Figure) -> float:
    x0, _, x1, _ = figure.box()
    return x1 - x0


def _tall(figure: Figure) -> float:
    _, y0, _, y1 = figure.box()
    return y1 - y0


def _told(specimen: Specimen, views: View) -> str:
    parts = [f"{specimen.name(c)}: {specimen.label(c, s)}" for c, s in specimen.drawn.items() if s]
    details = [figure.title for figure in views.details if figure.title]
    return "Drawn from the recorded characters, sizes at the middle of their range. " + "; ".join(parts + details) + "."


def _finished(sheet: Sheet, title: str, description: str, specimen: Specimen) -> Plate:
    height = sheet.y + MARGIN
    others = {character: tuple(specimen.others(character)) for character in specimen.drawn}
    return Plate(
        svg=_svg(sheet.pieces, WIDTH, height, title, description),
        width_mm=WIDTH,
        height_mm=round(height, 2),
        title=title,
        description=description,
        drawn={c: specimen.label(c, s) if s else "" for c, s in specimen.drawn.items()},
        also={c: words for c, words in others.items() if words},
        not_drawn=tuple(specimen.name(c) for c in specimen.missing),
    )


def _svg(pieces: Iterable[str], wide: float, high: float, title: str, description: str) -> str:
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="plate-drawing" role="img" viewBox="0 0 {number(wide)} {number(high)}"'
        f' width="{number(wide)}mm" height="{number(high)}mm"><title>{escape(title)}</title>'
        f"<desc>{escape(description)}</desc>{''.join(pieces)}</svg>"
    )
