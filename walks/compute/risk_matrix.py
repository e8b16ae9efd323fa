"""Risk as likelihood by severity, read off a matrix that is data.

A matrix puts a pair of ratings into a level in words. It ranks; it does not measure: a level is no probability, two
hazards of one level are not equally bad, and levels of two matrices cannot be compared.
Ratings are whole numbers from 1 (least) to 5 (most) in every matrix; one with other steps says how it reads them.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise, product

from walks.compute.strict_tables import Problem, Table, open_file, refuse_if_any

RATINGS = range(1, 6)
DEADLY = 5
HIGHEST_PRODUCT = 25
NEVER_BELOW = "medium"


@dataclass(frozen=True, slots=True, order=True)
class Score:
    """Two ratings from 1 to 5: how likely harm is, and how bad it would be."""

    likelihood: int
    severity: int

    def __post_init__(self) -> None:
        if self.likelihood not in RATINGS or self.severity not in RATINGS:
            raise ValueError(f"Likelihood and severity run from 1 to 5, not {self.likelihood} and {self.severity}.")

    @property
    def product(self) -> int:
        """Likelihood times severity, 1 to 25: fourteen values can occur (common practice, no source)."""
        return self.likelihood * self.severity

    def exceeds(self, other: Score) -> bool:
        """Whether either rating is higher than the other's: then this risk is no reduction of that one."""
        return self.likelihood > other.likelihood or self.severity > other.severity

    def joined(self, other: Score) -> Score:
        """The cautious reading of two assessments of one hazard: of each rating the higher one (our rule)."""
        return Score(max(self.likelihood, other.likelihood), max(self.severity, other.severity))


@dataclass(frozen=True, slots=True)
class Scale:
    """One axis of a matrix: its steps from least to most, and for each rating from 1 to 5 the step that it reads as."""

    steps: tuple[str, ...]
    labels: tuple[str, ...]
    reads: tuple[str, ...]

    def step(self, rating: int) -> str:
        """The step that a rating from 1 to 5 reads as."""
        return self.reads[rating - 1]

    def label(self, rating: int) -> str:
        """The words for a rating from 1 to 5."""
        return self.labels[self.steps.index(self.step(rating))]


@dataclass(frozen=True, slots=True)
class Matrix:
    """A risk matrix: two scales, the levels from mildest to worst, and the level of each cell."""

    key: str
    version: str
    title: str
    source: str
    levels: tuple[str, ...]
    likelihood: Scale
    severity: Scale
    cells: Mapping[tuple[str, str], str]

    def cell(self, likelihood_step: str, severity_step: str) -> str:
        """The level at two steps of the matrix's own scales. KeyError where the matrix has no such cell."""
        return self.cells[likelihood_step, severity_step]

    def level(self, score: Score) -> str:
        """The level of a score, in the matrix's words."""
        return self.cell(self.likelihood.step(score.likelihood), self.severity.step(score.severity))

    def rank(self, score: Score) -> int:
        """How bad the level of a score is: 0 for the mildest level of this matrix."""
        return self.levels.index(self.level(score))


def matrices_from(file: str, content: Mapping[str, object]) -> dict[str, Matrix]:
    """The matrices of a data file, by key, the default first. TablesRefused names each fault.

    Refused besides misspellings: a cell without a level, a level that falls as likelihood or severity rises, and a
    matrix that puts the highest severity below medium however unlikely (our rule: a rare death is no small matter).
    """
    problems: list[Problem] = []
    top = open_file(file, content, problems)
    matrices = [_matrix(table) for table in top.tables("matrix", required=True)]
    top.finish()
    refuse_if_any(problems)
    for matrix in matrices:
        problems += [Problem(file, f"matrix {matrix.key}", fault) for fault in _faults(matrix)]
    refuse_if_any(problems)
    return {matrix.key: matrix for matrix in matrices}


def _matrix(table: Table) -> Matrix:
    levels = table.texts("levels", required=True)
    if NEVER_BELOW not in levels:
        table.refuse("levels", f"expected '{NEVER_BELOW}' to be among them")
    likelihood = _scale(table, "likelihood")
    severity = _scale(table, "severity")
    read = _banded if table.has("band") else _tabled
    matrix = Matrix(
        key=table.text("key"),
        version=table.text("version"),
        title=table.text("title"),
        source=table.text("source"),
        levels=levels,
        likelihood=likelihood,
        severity=severity,
        cells=read(table, levels, likelihood, severity),
    )
    table.finish()
    return matrix


def _scale(table: Table, key: str) -> Scale:
    rows = table.tables(key, required=True)
    steps = [(row.text("step"), row.text("label"), row.text("meaning")) for row in rows]
    reads = table.words(f"{key}_reads", [step for step, _, _ in steps]) if table.has(f"{key}_reads") else ()
    for row in rows:
        row.finish()
    scale = Scale(
        steps=tuple(step for step, _, _ in steps),
        labels=tuple(label for _, label, _ in steps),
        reads=_five(reads or tuple(step for step, _, _ in steps)),
    )
    if len(scale.reads) != len(RATINGS):
        table.refuse(key, "expected a step for each rating from 1 to 5")
    return scale


def _five(reads: tuple[str, ...]) -> tuple[str, ...]:
    """Ratings below the first named step read as that step: a scale of four starts with its lowest twice."""
    return (reads[0],) * (len(RATINGS) - len(reads)) + reads if reads else ()


def _banded(table: Table, levels: tuple[str, ...], likelihood: Scale, severity: Scale) -> dict[tuple[str, str], str]:
    """Cells from bands of likelihood times severity, raised to the floor of a severity where one is stated."""
    bands = _limits(table, "band", "up_to", HIGHEST_PRODUCT, levels)
    floors = dict(_limits(table, "floor", "severity", DEADLY, levels))
    limits = [limit for limit, _ in bands]
    if limits != sorted(set(limits)) or limits[-1:] != [HIGHEST_PRODUCT]:
        table.refuse("band", f"expected rising limits, the last one {HIGHEST_PRODUCT}")
    if table.problems:
        return {}
    cells = {}
    for chance, harm in product(RATINGS, RATINGS):
        level = next(level for limit, level in bands if chance * harm <= limit)
        cells[likelihood.step(chance), severity.step(harm)] = max(level, floors.get(harm, level), key=levels.index)
    return cells


def _limits(table: Table, key: str, limit: str, highest: int, levels: tuple[str, ...]) -> list[tuple[int, str]]:
    pairs = []
    for row in table.tables(key):
        pairs.append((row.number(limit, 1, highest), row.word("level", levels)))
        row.finish()
    return pairs


def _tabled(table: Table, levels: tuple[str, ...], likelihood: Scale, severity: Scale) -> dict[tuple[str, str], str]:
    """Cells as a table: a row for each step of likelihood, in it a level for each step of severity."""
    rows = table.table("cells")
    cells = {}
    for chance in likelihood.steps:
        row = rows.table(chance)
        cells.update({(chance, harm): row.word(harm, levels) for harm in severity.steps})
        row.finish()
    rows.finish()
    return cells


def _faults(matrix: Matrix) -> list[str]:
    faults = []
    for rating in RATINGS:
        along = [[matrix.rank(Score(n, rating)) for n in RATINGS], [matrix.rank(Score(rating, n)) for n in RATINGS]]
        if any(low > high for ranks in along for low, high in pairwise(ranks)):
            faults.append("expected a level that never falls as likelihood or severity rises")
    if any(matrix.rank(Score(chance, DEADLY)) < matrix.levels.index(NEVER_BELOW) for chance in RATINGS):
        faults.append(f"expected the highest severity never to be below {NEVER_BELOW}")
    return sorted(set(faults))
