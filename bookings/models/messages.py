"""The outbox: written in the act that has something to say, sent by the worker, which renders it at that moment."""

from __future__ import annotations

from django.db import models

from bookings.models.bookings import Booking
from bookings.models.groups import GroupEnquiry, GroupQuote
from bookings.models.people import Contact
from curriculum.models import Document
from foraywright.floor.ids import new_public_id
from foraywright.floor.leases import LeasedRow
from foraywright.floor.sealed import SealedField
from walks.models import Guide, Offering


class OutboxMessage(LeasedRow):
    """One intent to write to one contact. It holds references, and sealed, without its links, what was sent.

    It is about a booking, or about a quote to a group, which has no contact before it books.
    """

    class Kind(models.TextChoices):
        CONFIRMATION = "confirmation", "Confirmation"
        CALLED_OFF = "called_off", "Called off"
        CANCELLED = "cancelled", "Cancelled"
        NEW_LINK = "new_link", "New link"
        RECALL = "recall", "Recall of a sheet"
        WAITING = "waiting", "On the waiting list"
        PASSED_OVER = "passed_over", "A later party was offered places"
        OFFER = "offer", "Offer from the waiting list"
        HOLD_LAPSING = "hold_lapsing", "Hold about to lapse"
        HOLD_LAPSED = "hold_lapsed", "Hold lapsed"
        PAID_TOO_LATE = "paid_too_late", "Paid after the hold ran out"
        CHANGED = "changed", "Party changed"
        MOVED = "moved", "Moved to another walk"
        PAYMENT = "payment", "Payment received"
        PAYMENT_DUE = "payment_due", "Payment due soon"
        REFUND_PAID = "refund_paid", "Refund paid"
        JOINING = "joining", "Joining instructions"
        WALK_CHANGED = "walk_changed", "Change of a walk"
        HANDOUT_READY = "handout_ready", "Handout ready"
        CERTIFICATE = "certificate", "Certificate of attendance"
        DECLARATION = "declaration", "Reminder to declare"
        ACCESS = "access", "Access need answered"
        QUOTE = "quote", "Quote for a group"
        QUOTE_CLOSED = "quote_closed", "Quote no longer open"
        CONTACT = "contact", "New contact"
        FORMER_CONTACT = "former_contact", "To the former contact"
        SHORT_OF_ADULTS = "short_of_adults", "Too few adults with children"

    public_id = models.CharField(max_length=20, unique=True, default=new_public_id, editable=False)
    kind = models.CharField(max_length=20, choices=Kind)
    contact = models.ForeignKey(Contact, null=True, blank=True, on_delete=models.CASCADE, related_name="messages")
    booking = models.ForeignKey(Booking, null=True, blank=True, on_delete=models.CASCADE, related_name="messages")
    quote = models.ForeignKey(GroupQuote, null=True, blank=True, on_delete=models.CASCADE, related_name="messages")
    version = models.PositiveIntegerField(default=1, help_text="Of the booking, or the key of what it is about")
    message_id = models.CharField(max_length=120, unique=True, help_text="The same on every retry")
    written_at = models.DateTimeField()
    not_needed = models.CharField(max_length=120, blank=True, help_text="Why it was not sent after all")
    bounced_at = models.DateTimeField(null=True, blank=True, help_text="When a report came that it was not delivered")
    bounce_status = models.CharField(max_length=20, blank=True, help_text="Status code of the report, e.g. 5.1.1")
    handled_at = models.DateTimeField(null=True, blank=True)
    handled_why = models.CharField(max_length=200, blank=True, help_text="What a person did instead of the letter")
    as_sent = SealedField(null=True)
    former_address = SealedField(null=True)
    """Where a letter to a former contact goes; empty once it went out or was set aside."""

    class Meta:
        constraints = [
            # One intent a person, kind and version: a retried act cannot write to somebody twice.
            models.UniqueConstraint(fields=["contact", "booking", "kind", "version"], name="one_message_an_intent"),
            models.UniqueConstraint(fields=["quote", "kind", "version"], name="one_message_a_quote"),
            # Without a booking there is nobody to write to but the group that was quoted.
            models.CheckConstraint(
                condition=models.Q(booking__isnull=False, contact__isnull=False, quote=None)
                | models.Q(booking=None, contact=None, quote__isnull=False),
                name="a_message_is_of_a_booking_or_a_quote",
            ),
            # Whoever handled it otherwise has said how.
            models.CheckConstraint(
                condition=models.Q(handled_at=None, handled_why="")
                | models.Q(handled_at__isnull=False) & ~models.Q(handled_why=""),
                name="handled_otherwise_says_how",
            ),
        ]
        indexes = [
            # The worker's next message.
            models.Index(fields=["done_at", "due_at"], name="messages_due"),
            # The office's list, newest first.
            models.Index(fields=["-written_at", "-id"], name="messages_newest_first"),
        ]

    @property
    def about(self) -> Booking | GroupEnquiry:
        """What the audit names: the booking, or the enquiry that is answered."""
        return self.booking or self.quoted.enquiry

    @property
    def offering(self) -> Offering:
        """What was booked or quoted."""
        return self.booking.offering if self.booking else self.quoted.offering

    @property
    def writes_to(self) -> Contact | GroupEnquiry:
        """Whose address it goes to, read at the moment of sending."""
        return self.contact or self.quoted.enquiry

    @property
    def goes_to(self) -> str:
        """The e-mail address that it goes to: a letter to a former contact never to who came after."""
        return (self.former_address or "") if self.kind == self.Kind.FORMER_CONTACT else self.writes_to.email

    @property
    def quoted(self) -> GroupQuote:
        """The quote that it is about. Raises ValueError for a message about a booking."""
        if self.quote is None:
            raise ValueError("This message is about a booking.")
        return self.quote

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.message_id}"


class Delivery(models.Model):
    """A document that was sent or handed to somebody: what a recall follows. Exactly one holder."""

    class Channel(models.TextChoices):
        MAIL = "mail", "Sent by mail"
        BOOKING_PAGE = "booking_page", "Laid out on the booking's page"
        PRINT = "print", "Printed by staff"
        GUIDE = "guide", "Given to a guide"

    document = models.ForeignKey(Document, on_delete=models.PROTECT, related_name="deliveries")
    booking = models.ForeignKey(Booking, null=True, blank=True, on_delete=models.PROTECT, related_name="deliveries")
    guide = models.ForeignKey(Guide, null=True, blank=True, on_delete=models.PROTECT, related_name="deliveries")
    printed_by = models.CharField(max_length=20, blank=True, help_text="Public id of the staff account that printed")
    channel = models.CharField(max_length=14, choices=Channel)
    at = models.DateTimeField()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=(
                    models.Q(booking__isnull=False, guide__isnull=True, printed_by="")
                    | models.Q(booking__isnull=True, guide__isnull=False, printed_by="")
                    | models.Q(booking__isnull=True, guide__isnull=True) & ~models.Q(printed_by="")
                ),
                name="a_delivery_has_one_holder",
            ),
            models.UniqueConstraint(fields=["document", "booking", "channel"], name="delivered_once_a_booking"),
        ]

    def __str__(self) -> str:
        return f"{self.document} {self.get_channel_display()}"
