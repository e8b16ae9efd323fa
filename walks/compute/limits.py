"""The limits on the number of people of a walk: each with what it counts, allows and finds used, and its sentence."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Literal

from walks.compute.age_bands import RatioPolicy, adults_for
from walks.compute.head_count import HeadCount

Counts = Literal["participants", "everybody", "adults for children"]


@dataclass(frozen=True, slots=True)
class StaffMember:
    """One of our people on the walk. Under 18 they count as a person present and for nothing else.

    `largest_group` = the most participants this guide may lead (None = the policy's figure alone).
    """

    key: str
    role: Literal["guide", "helper"]
    adult: bool
    background_check_in_date: bool
    largest_group: int | None = None
    may_lead_children: bool = True


@dataclass(frozen=True, slots=True)
class Cap:
    """A fixed limit in people: of the site, the landowner's permission, the insurance.

    `label` begins the sentence people read ("The landowner's permission"). `counts` says whether staff are in it.
    """

    key: str
    label: str
    counts: Literal["participants", "everybody"]
    figure: int
    source: str
    version: str


@dataclass(frozen=True, slots=True)
class LimitLine:
    """One limit of the statement. Unit of `allows`, `used` and `slack`: people, or adults for the children's rules,
    where `used` is the number of adults needed and `allows` the number who come."""

    key: str
    label: str
    counts: Counts
    allows: int
    used: int
    source: str
    version: str

    @property
    def slack(self) -> int:
        """What remains, in the line's unit; negative when the limit is broken."""
        return self.allows - self.used

    @property
    def kept(self) -> bool:
        """True while no more is used than the limit allows."""
        return self.slack >= 0

    @property
    def counts_people(self) -> bool:
        """True for a limit in places, False for a rule about adults and children."""
        return self.counts != "adults for children"

    @property
    def sentence(self) -> str:
        """The limit and how it stands, in words for office, guide and participant."""
        if not self.counts_people:
            return f"{self.label} {_adults(self.used)}; {_coming(self.allows)}."
        staff = ", staff included" if self.counts == "everybody" else ""
        people = "1 person" if self.allows == 1 else f"{self.allows} people"
        return f"{self.label} allows {people}{staff}; {_coming(self.used)}; {_remaining(self.slack)}."


@dataclass(frozen=True, slots=True)
class Limit:
    """One limit before anybody is counted: numbers alone, so that a device without signal can count with them too.

    A limit in people uses the participants and `staff` of ours. A rule about adults needs `floor` adults as soon as a
    child comes, and of the children in the pool one adult for each `per_adult` of their band; guardians in charge are
    added to what it allows where `with_guardians`.
    """

    key: str
    label: str
    counts: Counts
    allows: int
    source: str
    version: str
    staff: int = 0
    floor: int = 0
    per_adult: tuple[int, ...] = ()
    with_guardians: bool = False

    def line(self, coming: HeadCount) -> LimitLine:
        """The limit as it stands with those who come."""
        allows = self.allows + (coming.guardians if self.with_guardians else 0)
        return LimitLine(self.key, self.label, self.counts, allows, self._used(coming), self.source, self.version)

    def _used(self, coming: HeadCount) -> int:
        if self.counts != "adults for children":
            return coming.participants + self.staff
        floor = self.floor if coming.children else 0
        return floor + (adults_for(coming.pool, self.per_adult) if self.per_adult else 0)


def limit_lines(
    policy: RatioPolicy, caps: Iterable[Cap], staff: Sequence[StaffMember], coming: HeadCount
) -> tuple[LimitLine, ...]:
    """Every limit of a walk: the fixed ones in the order given, then the guides', then the children's rules."""
    return tuple(limit.line(coming) for limit in limits(policy, caps, staff))


def limits(policy: RatioPolicy, caps: Iterable[Cap], staff: Sequence[StaffMember]) -> tuple[Limit, ...]:
    """The same limits before anybody is counted."""
    fixed = tuple(_cap(cap, staff) for cap in caps)
    return (*fixed, _guides(policy, staff), *_for_children(policy, staff))


def _cap(cap: Cap, staff: Sequence[StaffMember]) -> Limit:
    ours = len(staff) if cap.counts == "everybody" else 0
    return Limit(cap.key, cap.label, cap.counts, cap.figure, cap.source, cap.version, staff=ours)


def _guides(policy: RatioPolicy, staff: Sequence[StaffMember]) -> Limit:
    """Σ over adult guides of the smaller of policy figure and largest group (our rule); counts all participants."""
    most = policy.participants_per_guide
    allows = sum(_led_by(member, most) for member in staff if member.role == "guide" and member.adult)
    return Limit("guides", "The number of guides", "participants", allows, policy.guides_source, policy.version)


def _led_by(guide: StaffMember, most: int) -> int:
    return most if guide.largest_group is None else min(most, guide.largest_group)


def _for_children(policy: RatioPolicy, staff: Sequence[StaffMember]) -> tuple[Limit, ...]:
    """The pool's need, served by adult staff with a check in date; the floor of adults; one of them staff; a grown
    guide who may lead children.

    The floor counts adult staff and guardians in charge. Other grown participants are in charge of nobody and are left
    out (our rule, the stricter reading of "two adults present").
    """
    grown = [member for member in staff if member.adult]
    checked = sum(member.background_check_in_date for member in grown)
    for_children = sum(member.role == "guide" and member.may_lead_children for member in grown)
    per_adult = tuple(band.children_per_adult for band in policy.bands)
    rule = partial(Limit, counts="adults for children", version=policy.version)
    floor = policy.adults_with_any_child
    return (
        rule("pool", POOL_LABEL, allows=checked, source=policy.source, per_adult=per_adult),
        rule("two-adults", FLOOR_LABEL, allows=len(grown), source=policy.source, floor=floor, with_guardians=True),
        rule("adult-staff", STAFF_LABEL, allows=len(grown), source=policy.source, floor=1),
        rule("children-guide", GUIDE_LABEL, allows=for_children, source="our rule", floor=1),
    )


POOL_LABEL = "The children whom no guardian of their own party looks after need, of our staff with a background check,"
FLOOR_LABEL = "With a child on the walk, staff and guardians in charge together must be"
GUIDE_LABEL = "With a child on the walk those of our guides who may lead children must be at least"
STAFF_LABEL = "With a child on the walk our own staff must include"


def _adults(number: int) -> str:
    return "1 adult" if number == 1 else f"{number} adults"


def _coming(number: int) -> str:
    return "1 is coming" if number == 1 else f"{number or 'nobody'} {'are' if number else 'is'} coming"


def _remaining(slack: int) -> str:
    if slack <= 0:
        return "no place remains" if slack == 0 else f"that is {-slack} too many"
    return "1 place remains" if slack == 1 else f"{slack} places remain"
