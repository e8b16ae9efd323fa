"""The one shape of a refusal: what happened, why, what became of places, money and data, what to do now."""

from __future__ import annotations

from collections.abc import Sequence

from django.utils.crypto import salted_hmac


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


class SeenOtherwise(Refusal):
    """What the page showed is no longer what the act would do: the page is to be shown anew."""

    code = "seen_otherwise"


def mark_of(*facts: object) -> str:
    """A mark of what a page showed; a page sends it back, and whoever reads it there learns nothing."""
    return salted_hmac("foraywright.seen", "\n".join(map(str, facts))).hexdigest()


def as_seen(seen: str | None, true_now: str, refusal: SeenOtherwise) -> None:
    """Raise `refusal` where the mark of what was shown is not the mark of what holds; ask under the act's lock.

    None: nobody was shown anything, as where the worker acts.
    """
    if seen is not None and seen != true_now:
        raise refusal
