from bookings.models.bookings import Booking, BookingLine, Place
from bookings.models.ledger import LedgerAccount, Transfer
from bookings.models.messages import Delivery, OutboxMessage
from bookings.models.people import Contact, Party, Person
from bookings.models.recalls import Recall

__all__ = [
    "Booking",
    "BookingLine",
    "Contact",
    "Delivery",
    "LedgerAccount",
    "OutboxMessage",
    "Party",
    "Person",
    "Place",
    "Recall",
    "Transfer",
]
