"""What is drawn of an account: one state or one size a character, chosen by a rule and kept on record.

Rule (ours): a size is the middle of its recorded range. Of several recorded states the first in a fixed order is drawn:
a structure is drawn where it may be there, and the plainer form where forms vary; the others are named beside it.
What is UNKNOWN is never chosen: the drawing leaves it out or dotted, and says so. A drawing is no measurement of any
one find, and must not be taken for proof that a structure is always there.
"""

from collections.abc import Container
from dataclasses import dataclass, field

from curriculum.compute.account import INAPPLICABLE, Account, Interval
from curriculum.compute.drawing.order import ORDER, YOUNG
from curriculum.compute.vocabulary import Vocabulary


@dataclass
class Specimen:
    """An account at one stage, asked for what to draw; it remembers what was asked and answered."""

    account: Account
    vocabulary: Vocabulary
    stage: str = "mature"
    drawn: dict[str, str] = field(default_factory=dict)
    missing: dict[str, None] = field(default_factory=dict)

    @property
    def taxon(self) -> str:
        """The stable id, which seeds all chance in the drawing."""
        return self.account.taxon

    def state(self, character: str, drawable: Container[str] | None = None) -> str:
        """The state to draw; "" where it is unknown, its organ is absent, or there is no drawing for it.

        `drawable` are the states that the calling view can draw, where those are not all.
        """
        chosen = self.choice(character, drawable)
        if chosen:
            self.drawn[character] = chosen
        else:
            self._miss(character)
        return chosen

    def choice(self, character: str, drawable: Container[str] | None = None) -> str:
        """The state that would be drawn; not put on record."""
        able = [state for state in self.states(character) if drawable is None or state in drawable]
        return min(able, key=lambda state: self._rank(character, state), default="")

    def states(self, character: str) -> frozenset[str]:
        """All recorded states, for a choice that hangs on another character; not put on record."""
        value = self.account.value(character, self.stage)
        return value if isinstance(value, frozenset) else frozenset()

    def size(self, character: str) -> float | None:
        """The middle of the recorded range in mm, or None."""
        value = self.account.value(character, self.stage)
        if not isinstance(value, Interval):
            self._miss(character)
            return None
        self.drawn[character] = ""
        return (value.low + value.high) / 2

    def others(self, character: str) -> list[str]:
        """Labels of the recorded states that are not drawn, in the order of the rule."""
        rest = self.states(character) - {self.drawn.get(character, "")}
        ordered = sorted(rest, key=lambda state: self._rank(character, state))
        return [self.label(character, state) for state in ordered]

    def label(self, character: str, state: str) -> str:
        """The words that people read for a state."""
        return self.vocabulary.characters[character].states[state].label

    def name(self, character: str) -> str:
        """The words that people read for a character."""
        return self.vocabulary.characters[character].label

    def _miss(self, character: str) -> None:
        """On record as not drawn, unless its organ is known to be absent."""
        if self.account.value(character, self.stage) is not INAPPLICABLE:
            self.missing[character] = None

    def _rank(self, character: str, state: str) -> tuple[int, str]:
        early = YOUNG.get(character, ()) if self.stage == "young" else ()
        order = (*early, *ORDER.get(character, ()))
        return (order.index(state) if state in order else len(order)), state
