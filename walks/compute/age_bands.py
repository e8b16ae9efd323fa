"""Ages and the table that says how many children one adult may look after.

Source of the default table: NSPCC Learning, "Recommended adult to child ratios for working with children", September
2023, read 25 November 2026; it is guidance and a minimum, so a risk assessment may only ask for more adults. The
table itself is data (walks/policies/ratios.toml).
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

ADULT_AGE = 18
"""Years of age from which a person is an adult (our reading: the published table ends at "13 to 18", the same page
counts nobody under 18 as an adult)."""


class PolicyError(ValueError):
    """The ratio table cannot be used as it is written; the sentence says what is wrong with it."""


@dataclass(frozen=True, slots=True)
class AgeBand:
    """Children from `from_age` to `to_age` years, both included; one adult may look after `children_per_adult`."""

    key: str
    label: str
    from_age: int
    to_age: int
    children_per_adult: int
    source: str


@dataclass(frozen=True, slots=True)
class Condition:
    """Ground or activity under which one guide leads at most `participants_per_guide` people."""

    key: str
    label: str
    participants_per_guide: int


@dataclass(frozen=True, slots=True)
class RatioPolicy:
    """One version of the rules about adults, children and guides.

    The bands cover the ages 0 to 17 in order, without gap or overlap, and never ask for more adults as children grow
    older (else PolicyError): so the youngest child of a group always stands in its strictest band.
    `participants_per_guide` is our rule: no published figure says how many people one guide of a wild-food walk can
    watch.
    """

    version: str
    bands: tuple[AgeBand, ...]
    participants_per_guide: int
    source: str
    adults_with_any_child: int = 2
    conditions: tuple[Condition, ...] = ()
    guides_source: str = "our rule"

    def under(self, keys: Collection[str]) -> "RatioPolicy":
        """The policy for a walk on which the conditions `keys` hold: the fewest participants per guide of them rules.

        Keys that the policy does not name change nothing; a condition never allows more than the policy itself.
        """
        hold = [one for one in self.conditions if one.key in keys]
        strictest = min(hold, key=lambda one: one.participants_per_guide, default=None)
        if strictest is None or strictest.participants_per_guide >= self.participants_per_guide:
            return self
        source = f"our rule: at most {strictest.participants_per_guide} to a guide {strictest.label}"
        return replace(self, participants_per_guide=strictest.participants_per_guide, guides_source=source)

    def __post_init__(self) -> None:
        _refuse_broken_bands(self.bands)
        if any(one.participants_per_guide < 1 for one in self.conditions):
            raise PolicyError("Participants per guide must be at least 1 under every condition.")
        if self.participants_per_guide < 1 or self.adults_with_any_child < 1:
            raise PolicyError("Participants per guide and adults with any child must each be at least 1.")

    def band_number(self, age: int | None) -> int:
        """Place in `bands` of a child of `age` years; an unknown age falls in the strictest band, which is the first.

        ValueError if it is no child's age.
        """
        if age is None:
            return 0
        for number, band in enumerate(self.bands):
            if band.from_age <= age <= band.to_age:
                return number
        raise ValueError(f"{age} is no child's age.")


def is_adult(age: int | None) -> bool:
    """True from 18 years; an unknown age is never taken for an adult's."""
    return age is not None and age >= ADULT_AGE


def age_on(birth_date: date, day: date) -> int:
    """Completed years of age on `day`, which is the walk's local start date.

    A birthday on 29 February comes on 1 March in years without one (our rule: the younger reading is the stricter).
    ValueError if `day` is before the birth.
    """
    if day < birth_date:
        raise ValueError(f"{day.isoformat()} is before the date of birth {birth_date.isoformat()}.")
    return day.year - birth_date.year - ((day.month, day.day) < (birth_date.month, birth_date.day))


def adults_needed(policy: RatioPolicy, counts: Sequence[int]) -> int:
    """Adults that the ratios alone ask for: Σ over bands of ⌈children ÷ children per adult⌉, in whole adults.

    `counts` holds the number of children in each band of the policy, in its order. No published rule says how to treat
    mixed ages; no adult is shared between bands here, which is the cautious reading. Not to be taken for enough: the
    floor of two adults stands beside it, and a risk assessment may ask for more.
    """
    return adults_for(counts, [band.children_per_adult for band in policy.bands])


def adults_for(counts: Sequence[int], per_adult: Sequence[int]) -> int:
    """The same from the number of children to one adult in each band."""
    return sum(-(-count // ratio) for count, ratio in zip(counts, per_adult, strict=True))


def adults_for_group(policy: RatioPolicy, ages: Sequence[int | None]) -> int:
    """Adults for one group of unaccompanied children: the ratios' need, and never under `adults_with_any_child`.

    Grown people among `ages` are passed over; without a child the need is 0.
    """
    counts = [0] * len(policy.bands)
    for age in ages:
        if not is_adult(age):
            counts[policy.band_number(age)] += 1
    return max(policy.adults_with_any_child, adults_needed(policy, counts)) if any(counts) else 0


POLICY_WORDS = {"version", "adults_with_any_child", "participants_per_guide", "source", "bands", "conditions"}
CONDITION_WORDS = {"key", "label", "participants_per_guide"}
SOURCE_WORDS = {"title", "locator", "date_read", "note"}
BAND_WORDS = {"key", "label", "from_age", "to_age", "children_per_adult"}


def policy_from_toml(table: Mapping[str, Any]) -> RatioPolicy:
    """A policy from a table as `tomllib` reads it. PolicyError for any word too many or too few."""
    _refuse_words({"conditions": [], **table}, POLICY_WORDS, "the policy")
    _refuse_words(table["source"], SOURCE_WORDS, "its source")
    source = f"{table['source']['title']}, {table['source']['locator']}, read {table['source']['date_read']}"
    return RatioPolicy(
        version=table["version"],
        bands=tuple(_band(row, source) for row in table["bands"]),
        participants_per_guide=table["participants_per_guide"],
        source=source,
        adults_with_any_child=table["adults_with_any_child"],
        conditions=tuple(_condition(row) for row in table.get("conditions", ())),
    )


def _condition(row: Mapping[str, Any]) -> Condition:
    _refuse_words(row, CONDITION_WORDS, "a condition")
    return Condition(**row)


def _band(row: Mapping[str, Any], source: str) -> AgeBand:
    _refuse_words(row, BAND_WORDS, "a band")
    return AgeBand(**row, source=source)


def _refuse_words(table: Mapping[str, Any], expected: set[str], where: str) -> None:
    unknown, missing = sorted(table.keys() - expected), sorted(expected - table.keys())
    if unknown:
        raise PolicyError(f"Unknown word in {where}: {', '.join(unknown)}.")
    if missing:
        raise PolicyError(f"Missing word in {where}: {', '.join(missing)}.")


def _refuse_broken_bands(bands: tuple[AgeBand, ...]) -> None:
    expected_age, fewest = 0, 1
    for band in bands:
        if band.from_age != expected_age or band.to_age < band.from_age:
            raise PolicyError(f"The band {band.label} must begin at {expected_age} years and not end before it begins.")
        if band.children_per_adult < fewest:
            raise PolicyError(f"The band {band.label} must allow at least {fewest} to an adult, as the one before it.")
        expected_age, fewest = band.to_age + 1, band.children_per_adult
    if expected_age != ADULT_AGE:
        raise PolicyError(f"The bands cover 0 to {expected_age - 1} years; they must cover 0 to {ADULT_AGE - 1}.")
    if len({band.key for band in bands}) != len(bands):
        raise PolicyError("Two bands have the same key.")
