"""How full a walk is, as the public reads it. For display only: selling counts under a lock."""

from collections.abc import Sequence
from typing import Literal

from walks.compute.age_bands import RatioPolicy
from walks.compute.head_count import HeadCount
from walks.compute.limits import Cap, LimitLine, StaffMember, limit_lines

FEW = 3
"""So many places or fewer are "few left" (our rule)."""

Occupancy = Literal["open", "few", "full"]


def tightest(policy: RatioPolicy, caps: Sequence[Cap], staff: Sequence[StaffMember], taken: int) -> LimitLine:
    """The limit in places with least slack when `taken` participants come; the first stated where several agree."""
    coming = HeadCount(taken, 0, 0, (0,) * len(policy.bands))
    lines = limit_lines(policy, caps, staff, coming)
    return min((line for line in lines if line.counts_people), key=lambda line: line.slack)


def occupancy(left: int) -> Occupancy:
    """The state word for `left` places: "full" at 0 or below, "few" up to FEW, else "open"."""
    return "full" if left <= 0 else "few" if left <= FEW else "open"
