"""What a new version of the accounts claims beyond the old one: the changes that a reviewer must see.

Definition (our rule). A version is bolder where an account is gone, a verdict is milder, a lookalike, caveat or
poisoning is dropped, less is feared of a lookalike, the words that tell it apart are others, a month is dropped, a
state or a part of a range is given up, what was unknown becomes known, or a pair that had to be separated no longer has
to be. Every pair whose verdict is worse is named too.
It must not be taken for a judgement: a bolder version may be the better one, once its source has been read.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from itertools import combinations

from curriculum.compute.account import ALL, UNKNOWN, Account, Interval, Lookalike, Value
from curriculum.compute.separation import Verdict, separate, stages_of
from curriculum.compute.universe import may_be_confused
from curriculum.compute.vocabulary import Vocabulary

Accounts = Mapping[str, Account]


def to_be_reviewed(before: Accounts, after: Accounts, vocabulary: Vocabulary) -> tuple[str, ...]:
    """One sentence for each change that a reviewer must see; empty where the new version claims nothing more."""
    gone = [f"{taxon}: the account is gone" for taxon in before if taxon not in after]
    both = [(before[taxon], after[taxon]) for taxon in before if taxon in after]
    changed = {old.taxon for old, new in both if old != new}
    bolder = [f"{old.taxon}: {what}" for old, new in both if old != new for what in _bolder(old, new, vocabulary)]
    return (*gone, *bolder, *_pairs(before, after, changed, vocabulary))


def _bolder(old: Account, new: Account, vocabulary: Vocabulary) -> Iterable[str]:
    rank = vocabulary.terms["edibility"]
    if rank[new.edibility].rank < rank[old.edibility].rank:
        yield f"the verdict is milder: {rank[old.edibility].label} became {rank[new.edibility].label}"
    for named in old.lookalikes:
        yield from _less_said(named, _same(named, new), vocabulary)
    if not set(old.season.months) <= set(new.season.months):
        yield "months were dropped from its season"
    for caveat in old.caveats:
        if caveat not in new.caveats:
            yield f"a caveat was dropped or changed: {caveat.text}"
    if old.toxicology and not new.toxicology:
        yield "the poisoning was dropped"
    yield from _surer_values(old, new, vocabulary)


def _same(named: Lookalike, new: Account) -> Lookalike | None:
    wanted = named.taxon, named.group_name
    return next((one for one in new.lookalikes if (one.taxon, one.group_name) == wanted), None)


def _less_said(old: Lookalike, new: Lookalike | None, vocabulary: Vocabulary) -> Iterable[str]:
    name, scale = old.taxon or old.group_name, vocabulary.terms["edibility"]
    if new is None:
        yield f"the lookalike {name} was dropped"
        return
    if old.feared and scale[new.feared].rank < scale[old.feared].rank:
        yield f"less is feared of the lookalike {name}"
    if new.separators != old.separators:
        yield f"the words that tell it from {name} were changed"


def _surer_values(old: Account, new: Account, vocabulary: Vocabulary) -> Iterable[str]:
    stages = dict.fromkeys((*stages_of(old), *stages_of(new), ALL))
    for key, character in vocabulary.characters_of(old.group).items():
        if any(surer(old.value(key, stage), new.value(key, stage)) for stage in stages):
            yield f"{character.label} is surer than it was"


def surer(old: Value, new: Value) -> bool:
    """Whether the new value gives up anything that the old one admitted."""
    if isinstance(old, Interval) and isinstance(new, Interval):
        return new.low > old.low or new.high < old.high
    if isinstance(old, frozenset) and isinstance(new, frozenset):
        return not old <= new
    return old is not new and new is not UNKNOWN


def _pairs(before: Accounts, after: Accounts, changed: set[str], vocabulary: Vocabulary) -> Iterable[str]:
    order = list(Verdict)
    for one, other in combinations([taxon for taxon in before if taxon in after], 2):
        if not {one, other} & changed or not may_be_confused(before[one], before[other], vocabulary):
            continue
        if not may_be_confused(after[one], after[other], vocabulary):
            yield f"{one} and {other} no longer have to be separated"
            continue
        was = separate(before[one], before[other], vocabulary).verdict
        now = separate(after[one], after[other], vocabulary).verdict
        if order.index(now) > order.index(was):
            yield f"{one} and {other} were {was} and are {now}"
