from bookings.models.attempts import AttemptCount
from bookings.models.attendance import AttendanceMark
from bookings.models.bank import BankLine
from bookings.models.bookings import Booking, BookingLine, Place
from bookings.models.callers import CallersConsent, PaperLetter
from bookings.models.cards import CardNotice, CardPayment, CardPayout, Chargeback, ChargebackTold
from bookings.models.choices import CallOffChoice
from bookings.models.costs import WalkCost
from bookings.models.declarations import AccessNeed, Declaration, KeptLonger, Look, RulesAccepted, SaidBy
from bookings.models.discounts import DiscountCode, DiscountUse
from bookings.models.forms_sent import FormSent
from bookings.models.groups import GroupEnquiry, GroupQuote
from bookings.models.incidents import FollowUp, Incident, IncidentPerson
from bookings.models.income import IncomeTaken
from bookings.models.invoices import Invoice
from bookings.models.ledger import LedgerAccount, Transfer
from bookings.models.letter_texts import LetterText
from bookings.models.lifts import LiftAsk, LiftShare
from bookings.models.messages import Delivery, OutboxMessage
from bookings.models.people import Contact, Party, Person
from bookings.models.recalls import Recall
from bookings.models.register import RegisterCopy
from bookings.models.vouchers import Voucher, VoucherOrder
from bookings.models.waiting import WaitingEntry, WaitingList
from bookings.models.walk_ups import WalkUp
from bookings.models.worker_faults import WorkerFault

__all__ = [
    "AccessNeed",
    "AttemptCount",
    "AttendanceMark",
    "BankLine",
    "Booking",
    "BookingLine",
    "CallOffChoice",
    "CallersConsent",
    "CardNotice",
    "CardPayment",
    "CardPayout",
    "Chargeback",
    "ChargebackTold",
    "Contact",
    "Declaration",
    "Delivery",
    "DiscountCode",
    "DiscountUse",
    "FollowUp",
    "FormSent",
    "GroupEnquiry",
    "GroupQuote",
    "Incident",
    "IncidentPerson",
    "IncomeTaken",
    "Invoice",
    "KeptLonger",
    "LedgerAccount",
    "LetterText",
    "LiftAsk",
    "LiftShare",
    "Look",
    "OutboxMessage",
    "PaperLetter",
    "Party",
    "Person",
    "Place",
    "Recall",
    "RegisterCopy",
    "RulesAccepted",
    "SaidBy",
    "Transfer",
    "Voucher",
    "VoucherOrder",
    "WaitingEntry",
    "WaitingList",
    "WalkCost",
    "WalkUp",
    "WorkerFault",
]
