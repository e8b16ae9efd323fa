"""Keep new words for a kind of letter, or go back to those that come with the product."""

from __future__ import annotations

from datetime import datetime

from bookings.compute.letter_words import Words, reasons_against
from bookings.errors import LetterTextNotKept
from bookings.letter_texts import IN_SUBJECTS, placeholders_of
from bookings.models import LetterText
from bookings.models.letter_texts import ENGLISH
from foraywright.floor.acts import act, record
from foraywright.floor.models import Business, User


@act
def save_letter_text(kind: str, words: Words | None, *, by: User, now: datetime) -> LetterText:
    """Write the next version; None goes back to ours. Letters that wait are written in it. Raises LetterTextNotKept.

    The row of the business is locked: two people who save at once would otherwise want the same number.
    """
    business = Business.objects.select_for_update().get()
    reasons = reasons_in(kind, words) if words else []
    if reasons:
        raise LetterTextNotKept("The words were not kept.", why=reasons, became="Letters go out as before.")
    earlier = LetterText.objects.filter(kind=kind, language=ENGLISH)
    kept = LetterText.objects.create(
        kind=kind,
        language=ENGLISH,
        number=earlier.count() + 1,
        subject=words.subject.strip() if words else "",
        body=words.body.strip() if words else "",
        author=by,
        at=now,
    )
    record("change letter text", business, by=by, now=now, fields=(kind,))
    return kept


def reasons_in(kind: str, words: Words) -> list[str]:
    """Why `words` cannot be those of a letter of `kind`."""
    return list(reasons_against(words, subject=tuple(IN_SUBJECTS), body=placeholders_of(kind)))
