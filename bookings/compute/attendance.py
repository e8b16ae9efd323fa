"""How somebody's attendance stands after all marks, and what a certificate asks for.

Our rules: present beats not known; leaving needs a later time than coming; what contradicts is shown, never guessed.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

PRESENT, ABSENT, LEFT_EARLY, UNKNOWN = "present", "absent", "left_early", "unknown"
CONFLICT = "conflict"


@dataclass(frozen=True, slots=True)
class Mark:
    """One mark: state, when it was seen, who made it, and whether they had all earlier marks in sight."""

    state: str
    seen_at: datetime
    by: str
    settles: bool = False


def standing(marks: Sequence[Mark]) -> str:
    """The state that follows from `marks` in the order in which they were recorded: present, absent, left_early,
    unknown or conflict.

    A settling mark overrules all before it. Of one person's marks the last seen counts; of two in the same instant
    the later word of the alphabet, so that the order of arrival decides nothing and devices may send in any order.
    """
    last = _last_of_each(_since_settled(marks))
    states = {one.state for one in last}
    if len(states) <= 1:
        return states.pop() if states else UNKNOWN
    if states == {PRESENT, LEFT_EARLY} and _latest(last, LEFT_EARLY) > _latest(last, PRESENT):
        return LEFT_EARLY
    return CONFLICT


def _since_settled(marks: Sequence[Mark]) -> Sequence[Mark]:
    settled = max((place for place, one in enumerate(marks) if one.settles), default=0)
    return marks[settled:]


def _last_of_each(marks: Iterable[Mark]) -> list[Mark]:
    """The last mark of each who marked, "not known" left out: whoever does not know says nothing against who does.

    A settling "not known" stands alone: it takes back what was marked by mistake.
    """
    last: dict[str, Mark] = {}
    for one in sorted(marks, key=lambda one: (one.seen_at, one.state)):
        if one.state != UNKNOWN:
            last[one.by] = one
    return list(last.values())


def _latest(marks: Iterable[Mark], state: str) -> datetime:
    return max(one.seen_at for one in marks if one.state == state)


def sessions_needed(sessions: int, percent: int) -> int:
    """Sessions that a certificate of attendance asks for: ⌈sessions × percent ÷ 100⌉, at least 1. Our rule.

    ValueError outside 1 to 100 percent or without a session. It says nothing of what anybody has learnt.
    """
    if sessions < 1 or not 1 <= percent <= 100:
        raise ValueError(f"{percent} % of {sessions} sessions is no share.")
    return -(-sessions * percent // 100)
