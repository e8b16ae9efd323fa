"""How long things take: the best of a few runs, said as a ratio to a bare yardstick measured in the same run."""

from __future__ import annotations

from collections.abc import Callable
from time import perf_counter


def seconds(work: Callable[[], object], runs: int = 3) -> float:
    """The shortest of a few runs, in seconds."""
    return min(_once(work) for _ in range(runs))


def line(what: str, ours: float, bare: float, yardstick: str) -> str:
    """One line of the report."""
    return f"{what:<58} {ours:>9.3f} s  {ours / bare:>7.1f} times  {yardstick} ({bare:.3f} s)"


def _once(work: Callable[[], object]) -> float:
    start = perf_counter()
    work()
    return perf_counter() - start
