"""The words of each kind of letter, and the placeholders that may stand in them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping
from functools import cache
from pathlib import Path
from typing import Any

from bookings.compute.letter_words import Words, words_from
from bookings.models import LetterText, OutboxMessage
from bookings.models.letter_texts import ENGLISH
from foraywright.floor.compute.clock_words import day_words
from foraywright.floor.compute.money import as_text
from foraywright.floor.compute.plain_text import several_lines
from foraywright.floor.compute.short_codes import spoken

Kind = OutboxMessage.Kind
Context = Mapping[str, Any]
OURS = Path(__file__).parent / "letter_words"

IN_SUBJECTS: Mapping[str, Callable[[Context], str]] = {
    "walk_title": lambda context: context["offering"].title,
    "day": lambda context: day_words(context["dates"][0].start),
}
"""All that a subject may say: it shows on locked screens, so nothing of a person stands there."""

IN_EVERY_BODY: Mapping[str, Callable[[Context], str]] = {
    **IN_SUBJECTS,
    "code": lambda context: spoken(context["booking"].code),
    "people": lambda context: _joined(context["people"]),
    "business": lambda context: context["business"].name,
    "phone": lambda context: context["business"].phone,
    "email": lambda context: context["business"].email,
}

MATTERS: Mapping[str, tuple[str, ...]] = {
    Kind.CALLED_OFF: ("reason",),
    Kind.CANCELLED: ("given_back",),
    Kind.OFFER: ("held_until",),
    Kind.HOLD_LAPSING: ("held_until",),
    Kind.PAID_TOO_LATE: ("on_the_list",),
    Kind.RECALL: ("sheet_name", "reason"),
    Kind.PAYMENT: ("amount",),
    Kind.PAYMENT_DUE: ("amount", "due_by"),
    Kind.REFUND_PAID: ("amount",),
    Kind.WALK_CHANGED: ("reason",),
    Kind.DECLARATION: ("missing",),
    Kind.QUOTE: ("group", "amount", "valid_until"),
    Kind.QUOTE_CLOSED: ("group", "closed"),
    Kind.SHORT_OF_ADULTS: ("limit",),
}
"""What else the body of a kind may say; the values stand in the letter's matter under the same names."""

EXPLAINED: Mapping[str, str] = {
    "walk_title": "the title of the walk",
    "day": "the day of the (first) walk, in words",
    "code": "the booking's code",
    "people": "who comes",
    "business": "our name",
    "phone": "our telephone number",
    "email": "our e-mail address",
    "reason": "why, as it was given",
    "given_back": "what became of the places",
    "held_until": "until when places are held",
    "on_the_list": "the place on the waiting list, where there is one",
    "sheet_name": "the species of the sheet",
    "amount": "the amount, with its currency",
    "due_by": "the day by which it is due",
    "missing": "how many people have not declared",
    "group": "the school or club",
    "valid_until": "the last day on which the quote can be accepted",
    "closed": "why the quote can no longer be accepted",
    "limit": "the rule about adults and children, and who is coming",
}


NOT_SAID: Mapping[str, tuple[str, ...]] = {
    Kind.QUOTE: ("code",),
    Kind.QUOTE_CLOSED: ("code",),
    Kind.FORMER_CONTACT: ("code", "people"),
}
"""A quote has no booking, and so no code; who comes is no longer a former contact's to know."""


def placeholders_of(kind: str) -> tuple[str, ...]:
    """The names that may stand in the body of `kind`."""
    common = [one for one in IN_EVERY_BODY if one not in NOT_SAID.get(kind, ())]
    return (*common, *MATTERS.get(kind, ()))


def values_of(kind: str, context: Context) -> dict[str, str]:
    """What each placeholder of `kind` says in this letter; empty where it has nothing to say."""
    names = placeholders_of(kind)
    values = {name: value(context) for name, value in IN_EVERY_BODY.items() if name in names}
    values |= {name: _in_words(context.get(name), context) for name in MATTERS.get(kind, ())}
    return {name: several_lines(value) for name, value in values.items()}


def _in_words(value: object, context: Context) -> str:
    return as_text(value, context["currency"]) if isinstance(value, int) else str(value or "")


def _joined(people: list[str]) -> str:
    """Those whose names we have not got are counted: "Ann Ash (adult) and 2 × child of 4 to 8"."""
    *first, last = [f"{number} × {who}" if number > 1 else who for who, number in Counter(people).items()] or [""]
    return f"{', '.join(first)} and {last}" if first else last


@cache
def our_words(kind: str) -> Words:
    """The words that come with the product."""
    return words_from((OURS / f"{kind}.md").read_text(encoding="utf-8"))


def words_in_use(kind: str) -> Words:
    """The words that letters of `kind` are written in now: the newest of the office, else ours. One query."""
    newest = LetterText.objects.filter(kind=kind, language=ENGLISH).order_by("-number").first()
    return Words(newest.subject, newest.body) if newest and newest.body else our_words(kind)


def newest_texts() -> dict[str, LetterText]:
    """The newest version that the office wrote, kind by kind. One query."""
    rows = LetterText.objects.filter(language=ENGLISH).select_related("author").order_by("number")
    return {one.kind: one for one in rows}
