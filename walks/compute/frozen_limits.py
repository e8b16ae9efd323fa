"""The limits of a walk as numbers alone, for a device without signal: it counts, and decides nothing of the law."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import asdict
from typing import Any

from walks.compute.age_bands import RatioPolicy, is_adult
from walks.compute.limits import Cap, StaffMember, limits
from walks.compute.ratios import each_guide_missing


def frozen_limits(policy: RatioPolicy, caps: Iterable[Cap], staff: Sequence[StaffMember]) -> dict[str, Any]:
    """The limits with all our people and without each guide, and the children to one adult in each band.

    They hold for the staff, site and papers of the moment: a guide who does not come is found under `without`.
    """
    caps = tuple(caps)

    def rows(people: Sequence[StaffMember]) -> list[dict[str, Any]]:
        return [
            asdict(one) | {"counts_people": one.counts != "adults for children"} for one in limits(policy, caps, people)
        ]

    return {
        "bands": [band.children_per_adult for band in policy.bands],
        "all": rows(staff),
        "without": [{"guide": guide.key, "limits": rows(rest)} for guide, rest in each_guide_missing(staff)],
    }


def band_number(policy: RatioPolicy, age: int | None) -> int | None:
    """The band in which somebody counts as a child, from 0; None for an adult."""
    return None if is_adult(age) else policy.band_number(age)
