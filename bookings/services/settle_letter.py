"""A letter on paper was posted, or set aside because it is no longer true."""

from __future__ import annotations

from datetime import datetime

from bookings.errors import NotPosted
from bookings.letters_still_true import no_longer_true
from bookings.models import OutboxMessage, PaperLetter
from bookings.services.send_messages import note_what_went_out
from foraywright.floor.acts import act, record
from foraywright.floor.models import User


@act
def settle_letter(letter: PaperLetter, *, posted: bool, by: User, now: datetime) -> None:
    """Note that `letter` was posted, or that it was set aside; what is posted is noted as a mail would be.

    Raises NotPosted for a true letter that would be set aside: somebody waits for it. The row is locked: two who post
    would otherwise both believe that it was the other.
    """
    letter = PaperLetter.objects.select_for_update(of=("self",)).select_related("message").get(pk=letter.pk)
    if letter.settled_at is not None:
        raise NotPosted("That letter is off the list already.", became="Nothing was changed.")
    why_not = no_longer_true(letter.message, now=now)
    if not posted and not why_not:
        raise NotPosted("That letter is still true.", became="It stays in the list.", now="Post it.")
    if posted:
        note_what_went_out(letter.message, now=now)
    else:
        OutboxMessage.objects.filter(pk=letter.message_id).update(not_needed=why_not)
    letter.settled_at, letter.settled_by = now, by
    letter.save()
    record("post letter" if posted else "set letter aside", letter.message, by=by, now=now)
