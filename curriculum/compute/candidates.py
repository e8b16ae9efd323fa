"""What a specimen may still be after some answers: the key asked question by question.

Definition (our rule). A taxon falls where an answer is none of its values and none that a beginner takes for one of
them; a measure falls outside its range by more than the margin of `comparison`. Unknown and inapplicable values never
make a taxon fall, nor do smell, taste and what takes overnight; a place never makes a deadly taxon fall.
It must not be taken for leave to eat: what remains may be what it is, and nothing here is called edible.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from curriculum.compute.account import Account, Interval, Value
from curriculum.compute.comparison import apart
from curriculum.compute.separation import DEADLY, HABITAT_GROUP, SETTLED_FROM, is_dangerous, visible
from curriculum.compute.vocabulary import Character, Vocabulary

Answer = frozenset[str] | float
"""What was seen: every state that it may be, or a measure in millimetres."""


@dataclass(frozen=True, slots=True)
class Fallen:
    """A taxon that was ruled out, by which characters and evidence groups.

    `beware`: it harms, and one group alone speaks against it.
    """

    taxon: str
    characters: tuple[str, ...]
    groups: tuple[str, ...]
    beware: bool


@dataclass(frozen=True, slots=True)
class Candidates:
    """What the answers leave, what they ruled out, and the answers that never rule anything out."""

    remaining: tuple[str, ...]
    fallen: tuple[Fallen, ...]
    unused: tuple[str, ...]


def candidates(accounts: Iterable[Account], answers: Mapping[str, Answer], vocabulary: Vocabulary) -> Candidates:
    """What the specimen may still be. KeyError for a character or state that the vocabulary does not have."""
    asked = [(vocabulary.characters[key], answer) for key, answer in answers.items()]
    for character, answer in asked:
        _refuse_unknown(character, answer)
    used = [(character, answer) for character, answer in asked if visible(character)]
    ruled = {one.taxon: _fallen(one, used, vocabulary) for one in accounts}
    return Candidates(
        remaining=tuple(taxon for taxon, fallen in ruled.items() if fallen is None),
        fallen=tuple(fallen for fallen in ruled.values() if fallen is not None),
        unused=tuple(character.key for character, _ in asked if not visible(character)),
    )


def _refuse_unknown(character: Character, answer: Answer) -> None:
    strange = answer - character.states.keys() if isinstance(answer, frozenset) else frozenset()
    if strange:
        raise KeyError(f"{character.key} has no state {', '.join(sorted(strange))}")


def _fallen(account: Account, used: Iterable[tuple[Character, Answer]], vocabulary: Vocabulary) -> Fallen | None:
    against = [one for one, answer in used if _rules_out(account, one, answer)]
    if not against:
        return None
    groups = tuple(sorted({one.evidence_group for one in against}))
    beware = is_dangerous(account, vocabulary) and len(groups) < SETTLED_FROM
    return Fallen(account.taxon, tuple(one.key for one in against), groups, beware)


def _rules_out(account: Account, character: Character, answer: Answer) -> bool:
    if character.evidence_group == HABITAT_GROUP and account.edibility == DEADLY:
        return False
    return _excludes(account.value(character.key), character, answer)


def _excludes(value: Value, character: Character, answer: Answer) -> bool:
    if isinstance(value, Interval) and not isinstance(answer, frozenset):
        return apart(answer, value.low) or apart(value.high, answer)
    if isinstance(value, frozenset) and isinstance(answer, frozenset):
        return bool(answer) and not answer & character.widened(value)
    return False
