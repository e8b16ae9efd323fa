"""The paper of a plate: text, thin lines and scale bars in millimetres from the top left, and the finished SVG."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from xml.sax.saxutils import escape

from curriculum.compute.drawing.curves import Point
from curriculum.compute.drawing.ink import INK, number
from curriculum.compute.drawing.letters import FAMILY, LEADING, SIZE
from curriculum.compute.drawing.pen import Figure

WIDTH = 110.0
MARGIN = 1.5
BARS = (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10000)
UNSCALED = "not to scale: size not recorded"


@dataclass(frozen=True, slots=True)
class Plate:
    """An SVG with its natural size on paper.

    `drawn` maps each character that shaped the drawing to the words of the state drawn ("" for sizes), `also` to the
    recorded states that are not drawn; `not_drawn` names drawable characters that are unknown, or that a pair's marks
    cannot show. `legend` explains marks: letter, character, words for the first and for the second taxon.
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
    """What is put on paper so far, from the top down. `y`: where the next thing starts; `size`: of the letters."""

    pieces: list[str] = field(default_factory=list)
    y: float = MARGIN
    size: float = SIZE

    def text(self, x: float, y: float, words: str, anchor: str = "start", css: str = "label") -> None:
        """One line of text; y is its baseline, `css` "label", "label also" (slanted) or "label mark" (bold)."""
        style, size = STYLES.get(css, ""), number(self.size)
        self.pieces.append(
            f'<text class="{css}" x="{number(x)}" y="{number(y)}" font-size="{size}" font-family="{FAMILY}"'
            f' fill="{INK}"{style} text-anchor="{anchor}">{escape(words)}</text>'
        )

    def line(self, points: Sequence[Point], weight: float = 0.12, extra: str = "") -> None:
        """Straight thin lines through paper points."""
        data = "M" + "L".join(f"{number(x)} {number(y)}" for x, y in points)
        self.pieces.append(
            f'<path class="ink-line" fill="none" stroke="{INK}" stroke-width="{weight}"{extra} d="{data}"/>'
        )

    def bar(self, figure: Figure, scale: float, middle: float, room: float = 24.0) -> None:
        """A scale bar of a round length no longer than `room`, or the words that say that there is none."""
        if not figure.measured:
            self.text(middle, self.y + self.size, figure.note or UNSCALED, "middle", "label also")
            self.y += LEADING / SIZE * self.size + 1.5
            return
        length = max((bar for bar in BARS if bar * scale <= room), default=BARS[0])
        left, right = middle - length * scale / 2, middle + length * scale / 2
        y = self.y + 1.2
        self.line([(left, y), (right, y)], 0.28, f' data-bar="{length}"')
        for x in (left, middle, right):
            self.line([(x, y - 0.7), (x, y + 0.7)], 0.28)
        self.text(middle, y + 0.9 + self.size, bar_words(length), "middle")
        self.y += self.size + 4.2

    def svg(self, height: float, title: str, description: str) -> str:
        """The whole plate as one SVG element."""
        return _svg(self.pieces, WIDTH, height, title, description)


STYLES = {"label also": ' font-style="italic"', "label mark": ' font-weight="700"'}


def bar_words(millimetres: int) -> str:
    """The length of a scale bar in the largest fitting unit."""
    if millimetres >= 1000:
        return f"{millimetres // 1000} m"
    return f"{millimetres // 10} cm" if millimetres >= 10 else f"{millimetres} mm"


def scale_to_fit(figure: Figure, wide: float, high: float) -> float:
    """Millimetres of paper for one of the organism, so that the figure fits."""
    return min(wide / wide_of(figure), high / tall_of(figure))


def wide_of(figure: Figure) -> float:
    """The width of all that is drawn, in millimetres of the organism."""
    x0, _, x1, _ = figure.box()
    return x1 - x0


def tall_of(figure: Figure) -> float:
    """The height of all that is drawn, in millimetres of the organism."""
    _, y0, _, y1 = figure.box()
    return y1 - y0


def _svg(pieces: Iterable[str], wide: float, high: float, title: str, description: str) -> str:
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="plate-drawing" role="img"'
        f' viewBox="0 0 {number(wide)} {number(high)}" width="{number(wide)}mm" height="{number(high)}mm">'
        f"<title>{escape(title)}</title><desc>{escape(description)}</desc>{''.join(pieces)}</svg>"
    )
