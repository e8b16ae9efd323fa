from bookings.models.bookings import Booking, BookingLine, Place
from bookings.models.declarations import AccessNeed, Declaration, Look, RulesAccepted, SaidBy
from bookings.models.ledger import LedgerAccount, Transfer
from bookings.models.messages import Delivery, OutboxMessage
from bookings.models.people import Contact, Party, Person
from bookings.models.recalls import Recall

__all__ = [
    "AccessNeed",
    "Booking",
    "BookingLine",
    "Contact",
    "Declaration",
    "Delivery",
    "LedgerAccount",
    "Look",
    "OutboxMessage",
    "Party",
    "Person",
    "Place",
    "Recall",
    "RulesAccepted",
    "SaidBy",
    "Transfer",
]
