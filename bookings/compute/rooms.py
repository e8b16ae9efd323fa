"""A walk as a sale sees it: its limits and the parties that already have places."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from walks.compute.age_bands import RatioPolicy
from walks.compute.head_count import PartyAges, count_parties, count_party
from walks.compute.limits import Cap, LimitLine, StaffMember, limit_lines
from walks.compute.ratios import Decision, RatioStatement, can_take, ratio_statement


@dataclass(frozen=True, slots=True)
class Room:
    """One walk of an offering; `coming` = the parties with live places."""

    policy: RatioPolicy
    caps: tuple[Cap, ...]
    staff: tuple[StaffMember, ...]
    coming: tuple[PartyAges, ...]

    @property
    def statement(self) -> RatioStatement:
        """How the walk stands with those who come."""
        return ratio_statement(self.policy, self.caps, self.staff, self.coming)

    def decide(self, party: PartyAges) -> Decision:
        """Whether `party` may join those who come."""
        return can_take(self.policy, self.caps, self.staff, self.coming, party)

    def broken_with(self, party: PartyAges) -> tuple[str, ...]:
        """One sentence for each limit that is not kept once `party` comes too, as it then stands."""
        return tuple(line.sentence for line in self._lines(party) if not line.kept)

    def with_party(self, party: PartyAges) -> Room:
        """The walk once `party` comes too."""
        return replace(self, coming=(*self.coming, party))

    def empty(self) -> Room:
        """The walk with nobody on it."""
        return replace(self, coming=())

    def what_gets_worse(self, before: PartyAges, after: PartyAges) -> tuple[str, ...]:
        """One sentence for each limit that a party breaks, or strains further, by being `after` instead of `before`.

        `coming` is everybody else. A party may always shrink on a walk that is over its limits for other reasons.
        """
        return tuple(
            (was if was.counts_people else would_be).sentence
            for was, would_be in zip(self._lines(before), self._lines(after), strict=True)
            if not would_be.kept and would_be.slack < was.slack
        )

    def _lines(self, party: PartyAges) -> tuple[LimitLine, ...]:
        everybody = count_parties(self.policy, self.coming) + count_party(self.policy, party)
        return limit_lines(self.policy, self.caps, self.staff, everybody)


def all_take(rooms: Sequence[Room], party: PartyAges) -> bool:
    """Whether `party` fits on every walk of the offering. Without a walk nobody fits."""
    return bool(rooms) and all(room.decide(party).allowed for room in rooms)


def all_with(rooms: Sequence[Room], party: PartyAges) -> tuple[Room, ...]:
    """The walks once `party` comes on all of them."""
    return tuple(room.with_party(party) for room in rooms)


def could_ever_take(rooms: Sequence[Room], party: PartyAges) -> bool:
    """Whether `party` would fit if nobody else came: who would not, has nothing to wait for."""
    return all_take([room.empty() for room in rooms], party)
