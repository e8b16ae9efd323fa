"""The limits on the number of people of a walk: each with what it counts, allows and finds used, and its sentence."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

from walks.compute.age_bands import RatioPolicy, adults_needed
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


def limit_lines(
    policy: RatioPolicy, caps: Iterable[Cap], staff: Sequence[StaffMember], coming: HeadCount
) -> tuple[LimitLine, ...]:
    """Every limit of a walk: the fixed ones in the order given, then the guides', then the children's rules."""
    fixed = tuple(_cap_line(cap, staff, coming) for cap in caps)
    return (*fixed, _guides_line(policy, staff, coming), *_children_lines(policy, staff, coming))


def _cap_line(cap: Cap, staff: Sequence[StaffMember], coming: HeadCount) -> LimitLine:
    used = coming.participants + (len(staff) if cap.counts == "everybody" else 0)
    return LimitLine(cap.key, cap.label, cap.counts, cap.figure, used, cap.source, cap.version)


def _guides_line(policy: RatioPolicy, staff: Sequence[StaffMember], coming: HeadCount) -> LimitLine:
    """Σ over adult guides of the smaller of policy figure and largest group (our rule); counts all participants."""
    most = policy.participants_per_guide
    allows = sum(_led_by(member, most) for member in staff if member.role == "guide" and member.adult)
    return LimitLine(
        "guides",
        "The number of guides",
        "participants",
        allows,
        coming.participants,
        policy.guides_source,
        policy.version,
    )


def _led_by(guide: StaffMember, most: int) -> int:
    return most if guide.largest_group is None else min(most, guide.largest_group)


def _children_lines(policy: RatioPolicy, staff: Sequence[StaffMember], coming: HeadCount) -> tuple[LimitLine, ...]:
    """The pool's need, served by adult staff with a check in date; the floor of adults; one of them staff; a grown
    guide who may lead children.

    The floor counts adult staff and guardians in charge. Other grown participants are in charge of nobody and are left
    out (our rule, the stricter reading of "two adults present").
    """
    adult_staff = [member for member in staff if member.adult]
    checked = sum(member.background_check_in_date for member in adult_staff)
    floor, one = (policy.adults_with_any_child, 1) if coming.children else (0, 0)
    for_children = sum(member.role == "guide" and member.may_lead_children for member in adult_staff)
    rows = (
        ("pool", POOL_LABEL, checked, adults_needed(policy, coming.pool)),
        ("two-adults", FLOOR_LABEL, len(adult_staff) + coming.guardians, floor),
        ("adult-staff", STAFF_LABEL, len(adult_staff), one),
        ("children-guide", GUIDE_LABEL, for_children, one),
    )
    return tuple(
        LimitLine(key, label, "adults for children", allows, used, source_of(key, policy), policy.version)
        for key, label, allows, used in rows
    )


def source_of(key: str, policy: RatioPolicy) -> str:
    """Where a rule about children comes from: the published one, but for who may lead them, which is ours."""
    return "our rule" if key == "children-guide" else policy.source


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
