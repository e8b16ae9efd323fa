"""Which pairs of taxa a reader may confuse at all.

Definition (our rule). A pair is in if the groups agree, the months meet when each is widened by half a month at either
end, and the habitats meet when one is widened by its neighbours; what is unknown meets everything. A taxon named as a
lookalike by either account is always in. Symmetric.
It must not be taken for a statement that the taxa look alike: it only says that both may be met on one walk.
"""

from __future__ import annotations

from curriculum.compute.account import Account, Season
from curriculum.compute.half_months import HALF_MONTHS, half_month_weights
from curriculum.compute.vocabulary import Vocabulary

FILTERS = ("group", "months", "habitat")


def may_be_confused(this: Account, other: Account, vocabulary: Vocabulary) -> bool:
    """Whether the pair has to be separated."""
    return kept_apart_by(this, other, vocabulary) == ""


def kept_apart_by(this: Account, other: Account, vocabulary: Vocabulary) -> str:
    """The first of FILTERS that keeps the two from being met together; "" if the pair has to be separated."""
    if named(this, other):
        return ""
    if this.group != other.group:
        return "group"
    if not _months_meet(this.season, other.season):
        return "months"
    return "" if _habitats_meet(this, other, vocabulary) else "habitat"


def named(this: Account, other: Account) -> bool:
    """Whether either account names the other taxon as a lookalike."""
    return names(this, other) or names(other, this)


def names(this: Account, other: Account) -> bool:
    """Whether the account `this` names the other taxon as a lookalike."""
    return any(one.taxon == other.taxon for one in this.lookalikes)


def half_months_of(season: Season) -> frozenset[int]:
    """The half-months (0 to 23) of a season, widened by one at either end; empty where the months are unknown."""
    weights = half_month_weights(season.months, season.peak)
    out = [half for half, weight in enumerate(weights) if weight]
    return frozenset((half + step) % HALF_MONTHS for half in out for step in (-1, 0, 1))


def _months_meet(this: Season, other: Season) -> bool:
    ours, theirs = half_months_of(this), half_months_of(other)
    return not ours or not theirs or bool(ours & theirs)


def _habitats_meet(this: Account, other: Account, vocabulary: Vocabulary) -> bool:
    if not this.habitats or not other.habitats:
        return True
    return bool(vocabulary.characters["habitat"].widened(this.habitats) & set(other.habitats))
