"""What limits a walk, who could still join, and whether one more party may.

Every answer is worked out from all parties at once, in whole people. It says nothing of competence: a walk that keeps
every limit here may still need more adults after its risk assessment.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import count

from walks.compute.age_bands import RatioPolicy
from walks.compute.head_count import HeadCount, PartyAges, count_parties, count_party
from walks.compute.limits import Cap, LimitLine, StaffMember, limit_lines


@dataclass(frozen=True, slots=True)
class CouldJoin:
    """The most people of one band alone, unaccompanied, who could still join; `stopped_by` = key of the first limit
    that one more would break."""

    key: str
    label: str
    number: int
    stopped_by: str


@dataclass(frozen=True, slots=True)
class RatioStatement:
    """How a walk stands against its limits.

    `binding` = least slack of the limits in places, the first stated where several agree; `children_binding` = the same
    of the rules about adults and children, None while no child comes (adults and places are different units and are
    never compared). `places_left` counts places only: whether a child may take one is in `could_join`.
    """

    lines: tuple[LimitLine, ...]
    binding: LimitLine
    children_binding: LimitLine | None
    places_left: int
    could_join: tuple[CouldJoin, ...]
    head_count: HeadCount
    one_guide_missing: "GuideMissing | None"

    @property
    def refusals(self) -> tuple[str, ...]:
        """One sentence for each broken limit."""
        return tuple(line.sentence for line in self.lines if not line.kept)


@dataclass(frozen=True, slots=True)
class GuideMissing:
    """The statement as it would be without one guide. A warning, not a refusal."""

    guide: str
    statement: RatioStatement


@dataclass(frozen=True, slots=True)
class Decision:
    """May a party join? `would_fit` = the most of its people, adults first, who pass every limit together."""

    allowed: bool
    reasons: tuple[str, ...]
    would_fit: int


def ratio_statement(
    policy: RatioPolicy, caps: Sequence[Cap], staff: Sequence[StaffMember], parties: Iterable[PartyAges]
) -> RatioStatement:
    """The statement for a walk, with the warning for the guide who matters most.

    That guide is the one without whom most limits are broken, then fewest places are left, then the children's rules
    have least slack; the first stated where several agree.
    """
    coming = count_parties(policy, parties)
    without = [
        GuideMissing(guide.key, _statement(policy, caps, rest, coming)) for guide, rest in each_guide_missing(staff)
    ]
    worst = min(without, key=lambda missing: _standing(missing.statement), default=None)
    return _statement(policy, caps, staff, coming, worst)


def can_take(
    policy: RatioPolicy,
    caps: Sequence[Cap],
    staff: Sequence[StaffMember],
    parties: Iterable[PartyAges],
    newcomer: PartyAges,
) -> Decision:
    """Whether `newcomer` may join: every limit must be kept with the whole party on the walk.

    A party that mends a broken rule (a guardian who makes the second adult) is let in; one that leaves any limit broken
    is not. Reasons give a limit in places as it stands before the party, a rule about adults as it would stand with it.
    """
    coming = count_parties(policy, parties)
    before = limit_lines(policy, caps, staff, coming)
    after = limit_lines(policy, caps, staff, coming + count_party(policy, newcomer))
    reasons = tuple(
        (was if was.counts_people else would_be).sentence
        for was, would_be in zip(before, after, strict=True)
        if not would_be.kept
    )
    return Decision(not reasons, reasons, _would_fit(policy, caps, staff, coming, newcomer))


def _statement(
    policy: RatioPolicy,
    caps: Sequence[Cap],
    staff: Sequence[StaffMember],
    coming: HeadCount,
    one_guide_missing: GuideMissing | None = None,
) -> RatioStatement:
    lines = limit_lines(policy, caps, staff, coming)
    binding = min((line for line in lines if line.counts_people), key=lambda line: line.slack)
    for_children = min((line for line in lines if not line.counts_people), key=lambda line: line.slack)
    return RatioStatement(
        lines=lines,
        binding=binding,
        children_binding=for_children if coming.children else None,
        places_left=max(0, binding.slack),
        could_join=tuple(_could_join(policy, caps, staff, coming)),
        head_count=coming,
        one_guide_missing=one_guide_missing,
    )


def each_guide_missing(staff: Sequence[StaffMember]) -> Iterable[tuple[StaffMember, Sequence[StaffMember]]]:
    """Each guide, with the staff who are left without that guide."""
    return ((guide, [*staff[:at], *staff[at + 1 :]]) for at, guide in enumerate(staff) if guide.role == "guide")


def _standing(statement: RatioStatement) -> tuple[int, int, int]:
    children = statement.children_binding
    return -len(statement.refusals), statement.binding.slack, children.slack if children else 0


def _could_join(
    policy: RatioPolicy, caps: Sequence[Cap], staff: Sequence[StaffMember], coming: HeadCount
) -> Iterable[CouldJoin]:
    for key, label, one in _one_of_each_band(policy):
        joined = coming
        for number in count():
            joined += one
            broken = next((line for line in limit_lines(policy, caps, staff, joined) if not line.kept), None)
            if broken:
                yield CouldJoin(key, label, number, broken.key)
                break


def _one_of_each_band(policy: RatioPolicy) -> Iterable[tuple[str, str, HeadCount]]:
    for number, band in enumerate(policy.bands):
        pool = tuple(int(place == number) for place in range(len(policy.bands)))
        yield band.key, band.label, HeadCount(1, 1, 0, pool)
    yield "adult", "18 and over", HeadCount(1, 0, 0, (0,) * len(policy.bands))


def _would_fit(
    policy: RatioPolicy, caps: Sequence[Cap], staff: Sequence[StaffMember], coming: HeadCount, newcomer: PartyAges
) -> int:
    for number in range(len(newcomer.people), 0, -1):
        joined = coming + count_party(policy, newcomer.first(number))
        if all(line.kept for line in limit_lines(policy, caps, staff, joined)):
            return number
    return 0
