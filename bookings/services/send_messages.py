"""Send what the outbox holds, one message at a time. At least once, and always under the same Message-ID."""

from __future__ import annotations

import logging
import re
from datetime import datetime
from smtplib import SMTPException, SMTPRecipientsRefused, SMTPResponseException

from django.core.mail import EmailMessage

from bookings.letters import letter
from bookings.letters_still_true import no_longer_true
from bookings.models import Booking, Contact, Delivery, GroupEnquiry, OutboxMessage, PaperLetter, Recall
from curriculum.models import Document
from foraywright.floor.acts import act, require_act
from foraywright.floor.leases import claim, finish, give_up, put_off

logger = logging.getLogger(__name__)

POINT_TO_THE_HANDOUT = (
    OutboxMessage.Kind.CONFIRMATION,
    OutboxMessage.Kind.JOINING,
    OutboxMessage.Kind.HANDOUT_READY,
)


def send_next_message(*, now: datetime) -> OutboxMessage | None:
    """Claim the next message and send it; None where nothing is due. A failure is put off and shown to staff.

    Nothing is locked while the mail server talks. Killed between its "accepted" and our note of it, the message goes
    out once more when the lease is over, under the Message-ID by which mail programs know it.
    """
    message = claim(OutboxMessage, now=now)
    if message is None:
        return None
    try:
        mail = _written(message, now=now)
        if mail is not None:
            mail.send()
    except Exception as fault:  # one letter that cannot be written must not stop the others
        fail = give_up if _is_for_good(fault) else put_off
        fail(message, _in_words(message, fault), now=now)
        return message
    if mail is not None:
        _note_as_sent(message, f"{mail.subject}\n\n{without_links(str(mail.body))}", now=now)
    return message


def _written(message: OutboxMessage, *, now: datetime) -> EmailMessage | None:
    """The letter to send; None where it is set aside or goes by post, and done with."""
    why_not = no_longer_true(message, now=now)
    if why_not:
        _set_aside(message, why_not, now=now)
    elif not message.goes_to:
        _by_other_ways(message, now=now)
    else:
        return letter(message, now=now)
    return None


def _is_for_good(fault: Exception) -> bool:
    """Whether the server knows no such address. It is not asked again (RFC 5321 section 4.2.1): an offer runs out
    meanwhile. That it refuses us, or the message, may pass."""
    refused = fault.recipients.values() if isinstance(fault, SMTPRecipientsRefused) else ()
    return bool(refused) and all(code >= 500 for code, _ in refused)


def _in_words(message: OutboxMessage, fault: Exception) -> str:
    """What went wrong, without any personal data."""
    if isinstance(fault, OSError):  # SMTPException is one
        return in_words(fault)
    logger.error("Message %s could not be written: %s", message.public_id, type(fault).__name__)
    return f"The letter could not be written ({type(fault).__name__})."


def without_links(text: str) -> str:
    """The text without the secrets in its addresses: a link is a permission, and what is kept must not be one."""
    return re.sub(r"(/(?:booking|declare|quote)/)[^/\s]+/", r"\1…/", text)


def in_words(fault: OSError) -> str:
    """Say what the mail server did. Its own text is left out: it repeats addresses."""
    if isinstance(fault, SMTPRecipientsRefused):
        codes = sorted({str(code) for code, _ in fault.recipients.values()})
        return f"The mail server refused the address ({', '.join(codes)})."
    if isinstance(fault, SMTPResponseException):
        return f"The mail server refused the message ({fault.smtp_code})."
    if isinstance(fault, SMTPException):
        return f"The mail server broke off ({type(fault).__name__})."
    return f"The mail server could not be reached ({type(fault).__name__})."


def _by_other_ways(message: OutboxMessage, *, now: datetime) -> None:
    """A letter to be posted. To whoever left a telephone number alone only a recall waits: a person must ring them."""
    known = message.contact is not None and message.contact.address
    if known or message.kind == OutboxMessage.Kind.RECALL:
        _lay_out_for_post(message, now=now)
    else:
        _set_aside(message, "No address was left to write to.", now=now)


@act
def _set_aside(message: OutboxMessage, why_not: str, *, now: datetime) -> None:
    OutboxMessage.objects.filter(pk=message.pk).update(not_needed=why_not, former_address=None)
    finish(message, now=now)


@act
def _lay_out_for_post(message: OutboxMessage, *, now: datetime) -> None:
    PaperLetter.objects.get_or_create(message=message, defaults={"laid_out_at": now})
    finish(message, now=now)


@act
def _note_as_sent(message: OutboxMessage, as_sent: str, *, now: datetime) -> None:
    """Keep what was sent, unless whom it went to was erased while it was on its way."""
    message.as_sent, message.former_address = None if _is_erased(message.writes_to) else as_sent, None
    message.save(update_fields=["as_sent", "former_address"])
    note_what_went_out(message, now=now)
    finish(message, now=now)


def _is_erased(to: Contact | GroupEnquiry) -> bool:
    """The step that locks whom a letter goes to, as whoever erases them does before their letters."""
    require_act()
    if isinstance(to, Contact):
        return Contact.objects.select_for_update().get(pk=to.pk).erased_at is not None
    return GroupEnquiry.objects.select_for_update().get(pk=to.pk).forgotten_at is not None


def note_what_went_out(message: OutboxMessage, *, now: datetime) -> None:
    """The step that writes what follows from a letter on its way, by mail or by post."""
    require_act()
    if message.booking is not None and message.kind in POINT_TO_THE_HANDOUT:
        for walk_id in message.booking.offering.walks.values_list("public_id", flat=True):
            _note_delivery(message.booking, walk_id, now=now)
    if message.kind == OutboxMessage.Kind.RECALL:
        open_recall = Recall.objects.filter(withdrawal=message.version, booking=message.booking_id)
        open_recall.filter(state=Recall.State.TO_TELL).update(state=Recall.State.SENT, changed_at=now)


def _note_delivery(booking: Booking, walk_id: str, *, now: datetime) -> None:
    """The letter points to the booklet, so a recall of it must reach this booking."""
    built = Document.objects.filter(kind=Document.Kind.BOOKLET, subject_id=walk_id, done_at__isnull=False)
    newest = built.exclude(file="").order_by("-wanted_at", "-pk").first()
    if newest is not None:
        Delivery.objects.get_or_create(
            document=newest, booking=booking, channel=Delivery.Channel.MAIL, defaults={"at": now}
        )
