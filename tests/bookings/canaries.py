"""Planted words: one of its own in every field that holds what somebody told us of themselves, and where it is found.

A word of letters is "kanari" and four more letters, a telephone number starts with `PHONES`: one search finds them all.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date, timedelta
from itertools import count, product
from uuid import uuid4

from django.apps import apps
from django.db import connection, models
from django.db.models import QuerySet

from bookings.compute.delivery_reports import Failure
from bookings.compute.references import creditor_reference
from bookings.ground_rules import rules_in_force
from bookings.models import Booking, CardPayment, GroupQuote, OutboxMessage, Person, SaidBy
from bookings.services.access_needs import answer_access, ask_for_access
from bookings.services.add_walk_up import CameUnbooked, add_walk_up
from bookings.services.ask_for_group import ask_for_group
from bookings.services.book_places import book_places
from bookings.services.change_contact import NewContact, change_contact
from bookings.services.declare import Answers, declare
from bookings.services.issue_invoice import issue_invoice
from bookings.services.keep_private import keep_private
from bookings.services.name_people import name_people
from bookings.services.note_bounce import note_bounce
from bookings.services.note_chargeback import note_chargeback
from bookings.services.quote_group import accept_quote, quote_group
from bookings.services.report_incident import Report, report_incident
from bookings.services.send_messages import send_next_message
from bookings.services.settle_chargeback import settle_chargeback
from bookings.services.settle_message import handle_otherwise
from bookings.services.settle_walk_up import settle_walk_up
from bookings.services.share_lifts import LiftWords, answer_lift, ask_for_lift, say_lift
from bookings.services.start_card_payment import start_card_payment
from bookings.services.take_in_statement import take_in_and_match
from bookings.services.take_register import take_register
from foraywright.floor.models import Business
from foraywright.floor.sealed import SealedField
from tests.bookings.statements import Entry, statement
from tests.cast import World
from walks.services.publish_walk import publish_walk
from walks.services.schedule_walk import schedule_walk

PHONES = "44998800"
FOUND = re.compile(rf"kanari[a-z]{{4}}|{PHONES}\d{{4}}")
LETTERS = ["".join(one) for one in product("bdfgklmnprst", repeat=4)]

PARTIES = 5
TOLD = ("allergies", "conditions", "medicines", "diet", "emergency_name", "emergency_phone", "emergency_relation")
SHAPED = {"billing_country_code", "billing_phone", "customer_ip_address"}
CARD = [name for name in CardPayment.TOLD if name not in SHAPED]

PLANTED = frozenset(
    {
        *(f"Contact.{name}" for name in ("name", "folded", "email", "address", "searched", "phone")),
        *("Person.name", "Person.folded"),
        *(f"Declaration.{name}" for name in TOLD),
        *("AccessNeed.need", "AccessNeed.answer"),
        *("LiftShare.area", "LiftShare.first_name"),
        *("BankLine.text", "BankLine.payer"),
        *(f"CardPayment.{name}" for name in CARD),
        *("OutboxMessage.as_sent", "OutboxMessage.handled_why", "OutboxMessage.former_address"),
        "Invoice.buyer",
        *(f"GroupEnquiry.{name}" for name in ("name", "email", "phone", "dates", "ages", "needs")),
        *("Incident.happened", "Incident.done", "IncidentPerson.name"),
        "WalkUp.answer",
        *("ActWords.said", "Chargeback.reason"),
    }
)
"""Every field of text that holds what is personal of somebody who is not staff. A new one belongs here, is planted in
`plant`, and stands in the table of `bookings.retention`."""

STAFF = "who works here, or signs for what is taught: kept as the name under what they did"
REASON = "a reason or an answer of the office, about what the office did"
OURS = "written by us, from choices, numbers, dates and what stands in public"
PLACES = "what is taught, where it is taught, and the papers of it"


def each(why: str, names: str) -> dict[str, str]:
    return dict.fromkeys(names.split(), why)


NOT_PLANTED = {
    **each(OURS, "AuditLine Counter FeedRevision LinkSecret PolicyVersion Slug Permission Group ContentType"),
    **each(STAFF, "Business User SignOff ReviewInvitation Guide GuideCertificate SignedAssessment AssessmentAddition"),
    **each(STAFF, "WeatherDecision WalkStart RegisterCopy AttendanceMark Delivery"),
    **each(STAFF, "Authenticator EmailAddress EmailConfirmation Session"),
    **each(PLACES, "Taxon TaxonName Source AccountVersion FactGroup Citation Document VocabularyWord"),
    **each(PLACES, "HistoricalSite Site LandownersPermission InsuranceCover Theme Offering Walk AssessmentDraft"),
    **each(PLACES, "WalkForecast Find SeasonPlan PlanProposal PermissionDocument SiteRoute OfferingTemplate"),
    **each(PLACES, "TemplateSession"),
    **each(REASON, "Withdrawal WalkChange Recall CardPayout"),
    **each(OURS, "ActWords.public_id KeptLonger Chargeback.public_id Chargeback.currency Chargeback.key"),
    **each("the provider's number of it", "Chargeback.provider_key"),
    **each(
        OURS, "Party.public_id Contact.public_id Person.public_id Person.band Person.concession Booking BookingLine"
    ),
    **each(OURS, "Declaration.public_id AccessNeed.public_id LiftShare.public_id WalkCost Look DiscountCode FormSent"),
    **each(OURS, "GroupQuote Voucher VoucherOrder LedgerAccount Transfer LetterText WaitingList"),
    **each(OURS, "BankLine.public_id BankLine.account BankLine.currency"),
    **each("the bank's number of it", "BankLine.statement BankLine.entry"),
    **each(OURS, "OutboxMessage.last_error OutboxMessage.public_id OutboxMessage.message_id OutboxMessage.not_needed"),
    **each("a code of the standard, never the report's text", "OutboxMessage.bounce_status"),
    **each(OURS, "CardPayment.variant CardPayment.currency CardPayment.description CardPayment.token"),
    **each("the provider's number of it", "CardPayment.transaction_id CardNotice"),
    **each("checked by its shape, emptied with the rest", " ".join(f"CardPayment.{name}" for name in SHAPED)),
    **each(OURS, "Incident.public_id IncidentPerson.public_id WalkUp.public_id WalkUp.against"),
    **each("a choice, sealed", "WalkUp.heard"),
    **each("where on the ground", "Incident.place"),
    **each("printed in risk assessments: the form asks for no names", "FollowUp"),
    **each("a school or a club, nobody", "GroupEnquiry.group"),
    **each(OURS, "GroupEnquiry.public_id Invoice.public_id Invoice.about Invoice.supplied Invoice.seller"),
    **each(OURS, "Invoice.currency Invoice.lines Invoice.reference"),
    **each("keyed digests, for a day", "AttemptCount"),
    **each("names of functions and faults of the program", "WorkerFault"),
}
"""All other fields of text, or all of a model's, and why nothing that a participant told of themselves is in them."""


def texts() -> Iterator[models.Field]:
    """Every field of every model into which words can be written that nobody chose from a list."""
    kinds = (models.CharField, models.TextField, models.JSONField, models.BinaryField, models.GenericIPAddressField)
    for model in apps.get_models():
        for one in model._meta.local_fields:
            if isinstance(one, (*kinds, SealedField)) and not one.choices:
                yield one


def key_of(one: models.Field) -> str:
    return f"{one.model.__name__}.{one.name}"


@dataclass
class Words:
    """Hands out words that nobody has had before."""

    numbers: Iterator[int]
    given: set[str] = field(default_factory=set)

    def of_another(self) -> Words:
        """Words of the same series for another booking."""
        return Words(self.numbers)

    def word(self) -> str:
        made = f"Kanari{LETTERS[next(self.numbers)]}"
        self.given.add(made.lower())
        return made

    def phone(self) -> str:
        made = f"{PHONES}{next(self.numbers):04d}"
        self.given.add(made)
        return made

    def email(self) -> str:
        return f"{self.word()}@kanari.example".lower()


@dataclass(frozen=True)
class Planted:
    """The bookings in which words were planted, each with its own; `parties[0]` had a part in an incident.

    The words of `nobody` belong to no booking: a bank line that waits, the account of the incident, a passer-by.
    """

    parties: list[tuple[Booking, Words]]
    walk_up: tuple[Booking, Words]
    group: tuple[Booking, Words]
    nobody: Words

    @property
    def bookings(self) -> list[tuple[Booking, Words]]:
        return [*self.parties, self.walk_up, self.group]


def found_in(text: str) -> set[str]:
    return set(FOUND.findall(text.lower()))


def found_by_column() -> dict[str, set[str]]:
    """The words that lie open in the database, by table and column, whatever model they belong to."""
    found = defaultdict(set)
    with connection.cursor() as cursor:
        for table in connection.introspection.table_names():
            cursor.execute(f'SELECT * FROM "{table}"')
            columns = [one[0] for one in cursor.description]
            for row in cursor.fetchall():
                for column, value in zip(columns, row, strict=True):
                    found[f"{table}.{column}"] |= found_in(str(value))
    return {key: words for key, words in found.items() if words}


def found_in_the_models() -> dict[str, set[str]]:
    """The words in `PLANTED` fields, sealed ones opened, by field."""
    fields = [one for one in texts() if key_of(one) in PLANTED]
    return {key_of(one): found_in(" ".join(_values(one))) for one in fields}


def _values(one: models.Field) -> Iterator[str]:
    yield from (str(getattr(row, one.name)) for row in one.model._default_manager.all())


def plant(world: World) -> Planted:
    """Let acts write a word of its own into every field of `PLANTED`, and send the letters."""
    nobody = Words(count())
    Business.objects.update(is_demonstration=True)
    parties = [_party(world, nobody) for _ in range(PARTIES)]
    _share_lifts(world, *parties[:2])
    group = _group(world, nobody.of_another())
    while send_next_message(now=world.now):
        pass
    _bounce(world, OutboxMessage.objects.filter(booking=parties[0][0]), parties[0][1])
    _bounce(world, OutboxMessage.objects.filter(quote__booking=group[0]), group[1])
    _another_address(world, *parties[1])
    walk_up = _walk_up(world, nobody.of_another())
    _incident(world, nobody, parties[0][0])
    return Planted(parties, walk_up, group, nobody)


def _party(world: World, nobody: Words) -> tuple[Booking, Words]:
    words = nobody.of_another()
    told = {"name": words.word(), "email": words.email(), "phone": words.phone(), "address": words.word()}
    order = world.order("adult", "adult", names=(words.word(),), **told)
    booking = book_places(order, by="participant", now=world.now)
    people = list(booking.party.people.order_by("pk"))
    name_people(booking, {people[1].public_id: words.word()}, by="participant", now=world.now)
    for person in people:
        _declare(world, words, person)
    need = ask_for_access(booking, words.word(), by="participant", now=world.now)
    answer_access(need, words.word(), by=world.olive, now=world.now)
    _pay_by_card(world, words, booking)
    _pay_by_bank(world, words, nobody, booking)
    issue_invoice(booking, buyer=words.word(), by="participant", now=world.now)
    return booking, words


def _declare(world: World, words: Words, person: Person) -> None:
    told = {name: words.phone() if name == "emergency_phone" else words.word() for name in TOLD}
    said = {"said_by": SaidBy.CONTACT, "rules": rules_in_force(), "by": "participant", "now": world.now}
    declare(person, Answers(**told, photos=False), **said)


def _pay_by_card(world: World, words: Words, booking: Booking) -> None:
    """Begun by us; what the provider tells of the payer its own package writes."""
    payment = start_card_payment(booking, by="participant", now=world.now)
    told = {name: words.email() if name == "billing_email" else words.word() for name in CARD}
    CardPayment.objects.filter(pk=payment.pk).update(**told)


def _pay_by_bank(world: World, words: Words, nobody: Words, booking: Booking) -> None:
    entries = (
        Entry("36.00", words.word(), structured=creditor_reference(booking.code), payer=words.word()),
        Entry("1.00", nobody.word(), reference="E2", payer=nobody.word()),
    )
    take_in_and_match(statement(*entries, name=booking.code), by=world.olive, now=world.now)


def _share_lifts(world: World, car: tuple[Booking, Words], rider: tuple[Booking, Words]) -> None:
    for (booking, words), kind in ((car, "offers"), (rider, "wants")):
        said = LiftWords(kind, 1, words.word(), words.word(), "phone")
        say_lift(booking, said, by="participant", now=world.now)
    ask_for_lift(rider[0], car[0].lift.public_id, by="participant", now=world.now)
    answer_lift(car[0], rider[0].lift.public_id, agrees=True, by="participant", now=world.now)


def _group(world: World, words: Words) -> tuple[Booking, Words]:
    asked = {"group": "Nether Wrack School", "size": 2, "leaders": 1, "email": words.email(), "phone": words.phone()}
    told = {name: words.word() for name in ("name", "dates", "ages", "needs")}
    enquiry = ask_for_group(asked | told, by="participant", now=world.now)
    day = world.walk.local_date + timedelta(days=7)
    plan = world.plan(world.session(local_date=day, guides=(world.gwen, world.harry)), title="For the school")
    draft = keep_private(schedule_walk(plan, by=world.olive, now=world.now), by=world.olive, now=world.now)
    offering = publish_walk(draft, by=world.olive, now=world.now)
    price = {"a_head_minor": 1100, "valid_until": date(2026, 9, 30)}
    quote = GroupQuote(enquiry=enquiry, offering=offering, leaders=1, bands=["9-12"] * 2, **price)
    made = quote_group(quote, by=world.olive, now=world.now)
    return accept_quote(made, by="participant", now=world.now), words


def _bounce(world: World, letters: QuerySet[OutboxMessage], words: Words) -> None:
    message = letters.earliest("pk")
    note_bounce(Failure(message.message_id, "5.1.1"), by="command", now=world.now)
    handle_otherwise(message, how=f"rang {words.word()}", by=world.olive, now=world.now)


def _another_address(world: World, booking: Booking, words: Words) -> None:
    """The letter that tells the old one waits."""
    contact = booking.party.contact
    new = NewContact(contact.name, words.email(), contact.phone, contact.address)
    change_contact(booking, new, by=world.olive, now=world.now)
    contact.refresh_from_db()


def _walk_up(world: World, words: Words) -> tuple[Booking, Words]:
    """A party that comes unbooked and breaks a limit; the office says what follows."""
    now, guide = world.walk.starts_at, world.gwen.user
    copy = take_register(world.walk, by=guide, now=now).copy
    names = tuple(words.word() for _ in range(12))
    order = world.order(*["adult"] * 12, name=words.word(), email="", phone=words.phone(), names=names)
    ring = (words.word(), words.phone(), words.word())
    came = CameUnbooked(uuid4(), order, now, "cash", "nothing", rules_in_force(), ring)
    walk_up = add_walk_up(world.walk, came, by=guide, now=now, copy=copy)
    settle_walk_up(walk_up, words.word(), by=world.olive, now=now)
    told = {"by": world.olive, "now": now}
    chargeback = note_chargeback(walk_up.booking, None, amount_minor=1, key="by hand", **told)
    settle_chargeback(chargeback, state="owed", reason=words.word(), **told)
    return walk_up.booking, words


def _incident(world: World, words: Words, booking: Booking) -> None:
    told = {"kind": "near_miss", "place": "the stile", "happened": words.word(), "done": words.word()}
    people = {"people": (booking.party.people.first(),), "others": (("other", words.word()),)}
    now = world.walk.starts_at
    report_incident(world.walk, Report(event=uuid4(), at=now, **told, **people), by=world.gwen.user, now=now)
