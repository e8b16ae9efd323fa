"""Which people an assessment covers, and the facts of the group that follow from it.

An assessment is signed for everybody whom the walk admits, for children with a guardian only, or for adults only.
Whoever has a place is added to that: a child who books a walk assessed for adults brings the facts of children with it,
and so the signed assessment turns stale. Bands and arrangements only; never a name, a count of children, a condition.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from walks.compute.age_bands import RatioPolicy

COVERS = {
    "everybody": "Everybody whom the walk admits, children of every age too",
    "accompanied": "Adults, and children with a guardian of their own party",
    "adults": "Adults only",
}
YOUNG = 9
SIZES = ((6, "1 to 6"), (12, "7 to 12"), (20, "13 to 20"))


@dataclass(frozen=True, slots=True)
class Coming:
    """Who has a place, as far as an assessment may know: what is printed from it is a band or an arrangement.

    `people`: everybody with a place, staff left out. `bands`: age bands of the children among them.
    `follow_ups`: what is still to be done after incidents at the site; `lasting`: what every walk there does since.
    Neither names anybody.
    """

    people: int = 0
    bands: frozenset[str] = frozenset()
    unaccompanied: bool = False
    dogs: bool = False
    follow_ups: frozenset[str] = frozenset()
    lasting: frozenset[str] = frozenset()


NOBODY = Coming()


@dataclass(frozen=True, slots=True)
class Scope:
    """Whom an assessment is for (a key of COVERS), and what is arranged so that everybody can take part.

    `arranged`: words of the fact `access_controls`: the arrangement, never the reason for it.
    """

    covers: str = "everybody"
    arranged: tuple[str, ...] = ()


def group_facts(policy: RatioPolicy, scope: Scope, coming: Coming, *, most: int, staff: int) -> dict[str, Any]:
    """The facts of the group. `most`: the largest number that the limits let come, staff included."""
    admitted = () if scope.covers == "adults" else (band.key for band in policy.bands)
    bands = {*admitted, *coming.bands}
    not_young = {band.key for band in policy.bands if band.from_age >= YOUNG}
    return {
        "children_bands": sorted(bands),
        "young_children": bool(bands - not_young),
        "unaccompanied_children": scope.covers == "everybody" or coming.unaccompanied,
        "group_size_band": size_band(max(most, coming.people + staff)),
        "access_controls": sorted(set(scope.arranged)),
    }


def size_band(people: int) -> str:
    """The band of a number of people, as the hazard library names it."""
    return next((band for limit, band in SIZES if people <= limit), "over 20")
