"""The one shape of a refusal: what happened, why, what became of places, money and data, what to do now."""

from __future__ import annotations

from collections.abc import Sequence


class Refusal(Exception):
    """An act was refused and nothing was changed. Rooms subclass it in their `errors.py`.

    `code` is for machines and tests; the sentences are for the person. `field` names the form field it belongs to.
    """

    code = "refused"

    def __init__(
        self, happened: str, *, why: Sequence[str] = (), became: str = "", now: str = "", field: str | None = None
    ) -> None:
        self.happened = happened
        self.why = tuple(why)
        self.became = became
        self.now = now
        self.field = field
        super().__init__(self.sentence)

    @property
    def sentence(self) -> str:
        """All parts as running text, in the order in which a person needs them."""
        return " ".join(part for part in (self.happened, *self.why, self.became, self.now) if part)
