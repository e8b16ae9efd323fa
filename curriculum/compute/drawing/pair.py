"""Two lookalikes side by side at one scale, the characters that separate them marked by letters.

The marks say where to look. They say nothing of edibility, and what no drawing can show (colour, smell, place) is
named in `not_drawn`: a pair may be settled, or unsettled, by that alone.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from curriculum.compute.account import Account, Interval
from curriculum.compute.drawing.curves import Point
from curriculum.compute.drawing.ink import Placing, inked
from curriculum.compute.drawing.labels import Label, Spot, column
from curriculum.compute.drawing.letters import ASCENT, LEADING, SIZE, lines
from curriculum.compute.drawing.pen import Figure
from curriculum.compute.drawing.sheet import MARGIN, WIDTH, Plate, Sheet, scale_to_fit, tall_of, wide_of
from curriculum.compute.drawing.specimen import Specimen
from curriculum.compute.drawing.views import View, views_of
from curriculum.compute.vocabulary import Vocabulary

LETTER_COLUMN = 4.0
GUTTER = 4.0
ROOM = WIDTH - 2 * MARGIN - 4 * LETTER_COLUMN - GUTTER
MAIN_HEIGHT, LOWER = 62.0, 36.0
LOW_DETAIL = 20.0
LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"


@dataclass(frozen=True, slots=True)
class Side:
    """One of the two: specimen and views; how high the main figure, and how deep a small view, may be on paper."""

    specimen: Specimen
    views: View
    high: float = MAIN_HEIGHT
    deep: float = math.inf

    @property
    def figures(self) -> tuple[Figure, ...]:
        """The main figure, then the small ones."""
        return (self.views.main, *self.views.details)

    def shows(self, character: str) -> Figure | None:
        """The figure on which a character is marked: the most special one that shows it."""
        showing = [figure for figure in self.figures if character in figure.anchors]
        return showing[-1] if showing and character in self.specimen.drawn else None


def pair_plate(
    a: Account, b: Account, vocabulary: Vocabulary, separating: Sequence[str], *, small: bool = False
) -> Plate:
    """Both main figures at one scale, and those small views that carry a separating character.

    A `small` plate is lower: the main figures, and small views only where those show nothing that separates.
    """
    sides = [_side(account, vocabulary) for account in (a, b)]
    left, right = sides = _lowered(sides, separating) if small else sides
    letters = _letters(sides, separating)
    sheet = Sheet()
    for key in _rows(sides, letters):
        _row(sheet, [_of_kind(side, key) for side in sides], sides, letters)
    title = f"{a.vernacular()} and {b.vernacular()}"
    told = f"Both drawn from their recorded characters. Left {a.accepted_name}, right {b.accepted_name}."
    height = sheet.y + MARGIN
    names = [vocabulary.characters[character].label for character in separating if character not in letters]
    return Plate(
        svg=sheet.svg(height, title, told),
        width_mm=WIDTH,
        height_mm=round(height, 2),
        title=title,
        description=told,
        drawn={c: vocabulary.characters[c].label for c in letters},
        also={},
        not_drawn=tuple(names),
        legend=tuple(
            (letter, vocabulary.characters[c].label, value_words(left.specimen, c), value_words(right.specimen, c))
            for c, letter in letters.items()
        ),
    )  # fmt: skip


def _side(account: Account, vocabulary: Vocabulary) -> Side:
    specimen = Specimen(account, vocabulary, "mature")
    return Side(specimen, views_of(specimen))


def _lowered(sides: Sequence[Side], separating: Sequence[str]) -> list[Side]:
    """The main figures, lower, and where they show nothing that separates, the first small view that does."""
    kinds: list[str] = []
    if not any(c in side.views.main.anchors and c in side.specimen.drawn for side in sides for c in separating):
        kinds = [figure.kind for side in sides for c in separating if (figure := side.shows(c))][:1]
    views = [View(one.views.main, _of_kinds(one.views.details, kinds)) for one in sides]
    return [Side(one.specimen, few, LOWER, LOW_DETAIL) for one, few in zip(sides, views, strict=True)]


def _of_kinds(figures: Sequence[Figure], kinds: Sequence[str]) -> tuple[Figure, ...]:
    return tuple(figure for figure in figures if figure.kind in kinds)


def _letters(sides: Sequence[Side], separating: Sequence[str]) -> dict[str, str]:
    """A letter for each separating character that at least one of the two drawings shows."""
    shown = [character for character in dict.fromkeys(separating) if any(side.shows(character) for side in sides)]
    return dict(zip(shown, LETTERS, strict=False))


def value_words(specimen: Specimen, character: str) -> str:
    """All recorded states, or the recorded range, in words; "not recorded" where it is unknown."""
    value = specimen.account.value(character, specimen.stage)
    if isinstance(value, Interval):
        return f"{value.low:g} to {value.high:g} {specimen.vocabulary.characters[character].unit}"
    return ", ".join(specimen.label(character, state) for state in sorted(specimen.states(character))) or "not recorded"


def _rows(sides: Sequence[Side], letters: dict[str, str]) -> Iterator[str]:
    """The main figures, then each kind of small view that carries a mark."""
    yield ""
    marked = {id(figure) for side in sides for c in letters if (figure := side.shows(c))}
    kinds = [figure.kind for side in sides for figure in side.views.details if id(figure) in marked]
    yield from dict.fromkeys(kinds)


def _of_kind(side: Side, kind: str) -> Figure | None:
    if not kind:
        return side.views.main
    return next((figure for figure in side.views.details if figure.kind == kind), None)


def _row(sheet: Sheet, figures: Sequence[Figure | None], sides: Sequence[Side], letters: dict[str, str]) -> None:
    drawn = [figure for figure in figures if figure]
    main = drawn[0] in [side.views.main for side in sides]
    high = sides[0].high if main else min(max(figure.tall for figure in drawn), sides[0].deep)
    scales = _scales(figures, high)
    deep = max(tall_of(figure) * scale for figure, scale in zip(figures, scales, strict=True) if figure)
    top, lowest, left = sheet.y + 1, sheet.y, MARGIN
    cells = _cells(figures, scales)
    for figure, scale, side, cell in zip(figures, scales, sides, cells, strict=True):
        sheet.y = top
        if figure:
            _one(sheet, figure, scale, side, letters, left, cell, deep)
        if main:
            _named(sheet, side, left + cell / 2, cell - 2)
        left += cell
        lowest = max(lowest, sheet.y)
    sheet.y = lowest + 1


def _scales(figures: Sequence[Figure | None], high: float) -> list[float]:
    """One scale for both where both sizes are recorded; else each fills its half."""
    drawn = [figure for figure in figures if figure]
    if all(figure.measured for figure in drawn):
        together = sum(wide_of(figure) for figure in drawn)
        same = min(ROOM / together, *(high / tall_of(figure) for figure in drawn))
        return [same for _ in figures]
    return [scale_to_fit(figure, ROOM / 2, high) if figure else 1.0 for figure in figures]


def _cells(figures: Sequence[Figure | None], scales: Sequence[float]) -> list[float]:
    """The width of each half: what its figure asks for, never so little that its name will not fit."""
    asked = [
        max(wide_of(figure) * scale if figure else 0.0, 0.3 * ROOM)
        for figure, scale in zip(figures, scales, strict=True)
    ]
    spare = (WIDTH - 2 * MARGIN) / sum(asked)
    return [room * spare for room in asked]


def _one(
    sheet: Sheet,
    figure: Figure,
    scale: float,
    side: Side,
    letters: dict[str, str],
    left: float,
    cell: float,
    deep: float,
) -> None:
    x0, y0, x1, _ = figure.box()
    scale = min(scale, (cell - 2 * LETTER_COLUMN) / wide_of(figure)) if not figure.measured else scale
    middle = left + cell / 2
    placing = Placing(scale, middle - (x0 + x1) / 2 * scale, sheet.y + deep + y0 * scale)
    sheet.pieces.append(inked(figure, placing, lighter=0.9))
    marks = [(letter, figure.anchors[c]) for c, letter in letters.items() if side.shows(c) is figure]
    _marks(sheet, marks, placing, middle, wide_of(figure) * scale / 2 + 1.2, deep)
    sheet.y += deep + 1
    sheet.bar(figure, scale, middle, 20.0) if figure.measured or not figure.kind else None


def _marks(
    sheet: Sheet, marks: list[tuple[str, Point]], placing: Placing, middle: float, reach: float, deep: float
) -> None:
    """Letters at both sides, each with a thin line to the place that it marks."""
    spots = []
    for letter, at in marks:
        x, y = placing.on_paper(at)
        spots.append(Spot(Label(letter, (letter,), 1, int(x > middle), at), (x, y - sheet.y)))
    for which, sign in ((0, -1), (1, 1)):
        for spot, top in column(spots, which, deep)[0]:
            x = middle + sign * reach
            sheet.text(
                x, sheet.y + top + ASCENT * SIZE, spot.label.lines[0], "end" if which == 0 else "start", "label mark"
            )
            sheet.line([(x - sign * 0.5, sheet.y + top + LEADING / 2), placing.on_paper(spot.label.at)])


def _named(sheet: Sheet, side: Side, middle: float, room: float) -> None:
    account = side.specimen.account
    vernacular = account.vernacular()
    for words in lines(vernacular, room) if vernacular != account.accepted_name else ():
        sheet.text(middle, sheet.y + ASCENT * SIZE, words, "middle")
        sheet.y += LEADING
    for words in lines(account.accepted_name, room):
        sheet.text(middle, sheet.y + ASCENT * SIZE, words, "middle", "label also")
        sheet.y += LEADING
