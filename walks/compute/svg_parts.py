"""The few marks of which drawings of a route are made. Their attributes carry the colours of paper; a page's classes
replace them (almanac.css)."""

from collections.abc import Sequence
from html import escape
from typing import Literal

INK, LINE, WASH, RUST, PAPER = "#22301f", "#b9b79f", "#f3eeda", "#9b3d1f", "#fbf7ea"
Anchor = Literal["start", "middle", "end"]


def drawing(width: float, height: float, words: str, parts: Sequence[str]) -> str:
    """The whole SVG; `words` say it to who cannot see it."""
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width:g} {height:.0f}" role="img" '
        f'aria-label="{escape(words)}">{"".join(parts)}</svg>'
    )


def text(x: float, y: float, words: str, anchor: Anchor = "start", *, halo: bool = False) -> str:
    """Words at 13 units; `halo` keeps them readable over a line."""
    edge = f' class="halo" paint-order="stroke" stroke="{PAPER}" stroke-width="4"' if halo else ""
    return (
        f'<text font-family="Alegreya Sans, sans-serif" font-size="13" fill="{INK}"{edge} '
        f'x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}">{escape(words)}</text>'
    )


def stroke(path: str, width: float = 1.0, *, faint: bool = False) -> str:
    """A line along an SVG path."""
    name, colour = ("line", LINE) if faint else ("ink-line", INK)
    return (
        f'<path class="{name}" d="{path}" fill="none" stroke="{colour}" stroke-width="{width:g}" '
        'stroke-linejoin="round" stroke-linecap="round"/>'
    )


def area(path: str, name: Literal["ink", "wash"], transform: str = "") -> str:
    """A filled path."""
    turned = f' transform="{transform}"' if transform else ""
    return f'<path class="{name}" d="{path}" fill="{INK if name == "ink" else WASH}"{turned}/>'


def path_of(points: Sequence[tuple[float, float]]) -> str:
    """Straight lines from point to point."""
    return "M" + " L".join(f"{x:.1f},{y:.1f}" for x, y in points)


def nice_length(most: float) -> float:
    """The largest of 1, 2 and 5 times a power of ten that is not above `most` (above 0)."""
    power = 1.0
    while power > most:
        power /= 10
    while power * 10 <= most * (1 + 1e-12):
        power *= 10
    return max(step * power for step in (1, 2, 5) if step * power <= most * (1 + 1e-12))


def metres_words(metres: float) -> str:
    """Return "200 m" or "2 km"."""
    return f"{metres:g} m" if metres < 1000 else f"{metres / 1000:g} km"
