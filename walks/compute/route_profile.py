"""The heights along a route as a line drawing in SVG. They are drawn larger than the way, and the drawing says so."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from walks.compute.routes import Route
from walks.compute.svg_parts import area, drawing, metres_words, nice_length, path_of, stroke, text

WIDTH, HEIGHT = 400.0, 170.0
LEFT, RIGHT, TOP, BOTTOM = 48.0, WIDTH - 14, 14.0, HEIGHT - 38
SAMPLES = 300
LEAST_SPAN_M = 20.0
"""On level ground the heights would else fill the drawing with hills."""


@dataclass(frozen=True, slots=True)
class Frame:
    """Units a metre across and up, from `low` metres of height on."""

    across: float
    up: float
    low: float

    def x(self, metres: float) -> float:
        return LEFT + metres * self.across

    def y(self, height: float) -> float:
        return BOTTOM - (height - self.low) * self.up


def profile_svg(route: Route, words: str) -> str:
    """The profile; "" where no heights were recorded. `words` say it to who cannot see it."""
    if route.heights is None:
        return ""
    lines = height_lines(route.heights)
    frame = Frame((RIGHT - LEFT) / route.distance_m, (BOTTOM - TOP) / (lines[-1] - lines[0]), lines[0])
    marks = [route.distance_m * n / SAMPLES for n in range(SAMPLES + 1)]
    way = path_of([(frame.x(one), frame.y(route.height_at(one))) for one in marks])
    parts = [
        area(f"{way} L{RIGHT:.1f},{BOTTOM} L{LEFT},{BOTTOM} Z", "wash"),
        *(_height_line(frame, one) for one in lines),
        stroke(way, 2),
        *(_distance_mark(frame, one) for one in _distances(route.distance_m)),
        text(RIGHT, HEIGHT - 3, f"heights drawn {frame.up / frame.across:.0f} times too large", "end"),
    ]
    return drawing(WIDTH, HEIGHT, words, parts)


def height_lines(heights: Sequence[float]) -> list[float]:
    """The heights at which lines are drawn: round numbers that hold all of `heights` between them."""
    step = nice_length(max(max(heights) - min(heights), LEAST_SPAN_M) / 2)
    low, high = math.floor(min(heights) / step), math.ceil(max(heights) / step)
    return [step * n for n in range(low, max(high, low + 2) + 1)]


def _height_line(frame: Frame, height: float) -> str:
    y = frame.y(height)
    return stroke(f"M{LEFT},{y:.1f} H{RIGHT:.1f}", faint=True) + text(LEFT - 6, y + 4, f"{height:g} m", "end")


def _distances(distance_m: float) -> list[float]:
    step = nice_length(distance_m / 3)
    return [step * n for n in range(int(distance_m // step) + 1)]


def _distance_mark(frame: Frame, metres: float) -> str:
    x = frame.x(metres)
    label = text(x, BOTTOM + 17, metres_words(metres) if metres else "0", "middle")
    return stroke(f"M{x:.1f},{BOTTOM} v4") + label
