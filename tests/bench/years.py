"""The pages of a house after years: 2,000 walks and 22,000 bookings, against the same pages with a single walk."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from datetime import date, time, timedelta

from django.test import Client
from django.urls import reverse
from django.utils import timezone

from bookings.compute.search_words import contact_words, person_words
from bookings.models import Booking, BookingLine, Contact, LedgerAccount, OutboxMessage, Party, Person, Place, Transfer
from bookings.services.book_places import book_places
from curriculum.services.load_starter import load_starter
from foraywright.floor.compute.folding import folded
from foraywright.floor.ids import new_public_id
from foraywright.floor.models import Slug
from tests.bench.clock import line, seconds
from tests.cast import World, make_world
from tests.conftest import NOW
from tests.pages import signed_in
from walks.models import GuideCertificate, InsuranceCover, LandownersPermission, Offering, Walk, WalkGuide

WALKS, AHEAD, OWING, PARTIES = 2_000, 400, 500, 11
LATER = 4
NAMES = ("Partridge", "Nuthatch", "Dunnock", "Wren", "Fieldfare", "Redstart", "Siskin", "Whinchat")


def lines() -> Iterator[str]:
    """The pages before and after the years, each the best of three fetches."""
    world = make_world(now=NOW)
    load_starter(by="command", now=NOW)
    _good_for_ever()
    book_places(world.order(), by="participant", now=NOW)
    few = _measured(signed_in(world.olive), world.offering)
    offerings = _walks(world)
    _bookings(offerings)
    many = _measured(signed_in(world.olive), offerings[-AHEAD + 1])
    for what, took in many.items():
        yield line(
            f"{what}, {WALKS} walks, {Booking.objects.count()} bookings", took, few[what], "one walk, one booking"
        )


def _measured(client: Client, offering: Offering) -> dict[str, float]:
    return {what: seconds(fetch) for what, fetch in pages(client, offering).items()}


def pages(client: Client, offering: Offering) -> dict[str, Callable[[], None]]:
    """What is fetched, by its name."""

    def fetch(address: str, **sought: str) -> Callable[[], None]:
        def once() -> None:
            answer = client.post(address, sought) if sought else client.get(address)
            assert answer.status_code == 200, (address, answer.status_code)

        return once

    bookings, search = reverse("staff_bookings"), reverse("staff_search")
    return {
        "Today": fetch(reverse("staff_today")),
        "bookings": fetch(bookings),
        "bookings by what they owe": fetch(f"{bookings}?sort=-owed"),
        "bookings that owe us": fetch(f"{bookings}?money=owes"),
        "bookings by people": fetch(f"{bookings}?sort=-people"),
        "bookings of a day": fetch(f"{bookings}?first=2026-10-03&last=2026-10-03"),
        "search for a name": fetch(search, sought="nuthatch"),
        "search for two words": fetch(search, sought="person 77"),
        "walks to come": fetch(reverse("staff_walks")),
        "walks that are over": fetch(f"{reverse('staff_walks')}?past=1"),
        "a walk": fetch(reverse("staff_walk", args=[offering.public_id])),
        "letters": fetch(reverse("staff_outbox")),
        "money": fetch(reverse("staff_money")),
        "programme": fetch(reverse("programme")),
        "feed": fetch(reverse("walks_feed")),
        "register": fetch(reverse("staff_day_register", args=[offering.public_id, 1])),
    }


def _good_for_ever() -> None:
    """No paper ends: what a page says of papers is measured elsewhere."""
    days = {"valid_from": date(2000, 1, 1), "valid_to": date(2100, 1, 1)}
    for paper in (GuideCertificate, InsuranceCover, LandownersPermission):
        paper._default_manager.update(**days)
    LandownersPermission.objects.update(days_a_year=None)


def _walks(world: World) -> list[Offering]:
    """A walk a day, `AHEAD` of them to come, each an offering of its own; Gwen leads."""
    offering, walk, today = world.offering, world.offering.walks.get(), timezone.localdate()
    columns = {one.attname: getattr(offering, one.attname) for one in Offering._meta.concrete_fields}
    for name in ("id", "public_id", "title"):
        columns.pop(name)
    made = Offering.objects.bulk_create(
        Offering(**columns, public_id=new_public_id(), title=f"The wood {n:04}") for n in range(WALKS - 1)
    )
    Slug.objects.bulk_create(
        Slug(kind="offering", text=f"the-wood-{one.public_id.lower()}", object_id=one.public_id, since=NOW)
        for one in made
    )
    dated = Walk.objects.bulk_create(
        _on(one, walk, walk.starts_at + (today - walk.local_date) + timedelta(days=n + AHEAD - WALKS, hours=LATER))
        for n, one in enumerate(made)
    )
    WalkGuide.objects.bulk_create(
        WalkGuide(walk=one, guide=world.gwen, role="leads", starts_at=one.starts_at, ends_at=one.ends_at)
        for one in dated
    )
    return made


def _on(offering: Offering, walk: Walk, start: object) -> Walk:
    """The walk of the cast again, on another day, in the afternoon: nobody leads two walks at once."""
    day = start.date()  # type: ignore[attr-defined]
    return Walk(
        offering=offering, site=walk.site, local_date=day, local_time=time(walk.local_time.hour + LATER),
        zone=walk.zone, minutes=walk.minutes, starts_at=start, ends_at=start + timedelta(minutes=walk.minutes),  # type: ignore[operator]
        calendar_uid=f"{offering.public_id}@walks.example.org", calendar_stamp=NOW, calendar_modified=NOW,
        places_taken_shown=2 * PARTIES if day.day % 5 else 6,
    )  # fmt: skip


def _bookings(offerings: Sequence[Offering]) -> None:
    """Eleven parties of two adults a walk, booked in the order of the days."""
    whose = [one for one in offerings for _ in range(PARTIES)]
    names = [f"Person {n} {NAMES[n % len(NAMES)]}" for n in range(len(whose))]
    contacts = Contact.objects.bulk_create(
        Contact(
            name=name, folded=folded(name), email=f"p{n}@example.org", created_at=NOW,
            searched=contact_words(name, f"p{n}@example.org", ""),
        )
        for n, name in enumerate(names)
    )  # fmt: skip
    parties = Party.objects.bulk_create(Party(contact=one, created_at=NOW) for one in contacts)
    people = Person.objects.bulk_create(
        Person(party=one, name=one.contact.name, folded=person_words(one.contact.name), band="adult", youngest_age=18)
        for one in parties
        for _ in range(2)
    )
    booked = Booking.objects.bulk_create(
        Booking(
            code=f"B{n:06}", party=party, offering=offering, state="confirmed", idempotency_key=f"years-{n}",
            booked_at=NOW - timedelta(minutes=len(whose) - n),
        )
        for n, (party, offering) in enumerate(zip(parties, whose, strict=True))
    )  # fmt: skip
    walks = dict(Walk.objects.values_list("offering", "pk"))
    Place.objects.bulk_create(
        Place(booking=booked[n // 2], walk_id=walks[booked[n // 2].offering_id], person=one)
        for n, one in enumerate(people)
    )
    BookingLine.objects.bulk_create(
        BookingLine(
            booking=booked[n // 2], person=one, label="adult", price_minor=1800, currency="GBP", vat_basis_points=2000,
            prices_id=offerings[0].prices_id, refunds_id=offerings[0].refunds_id,
        )
        for n, one in enumerate(people)
    )  # fmt: skip
    _money_and_letters(booked)


def _money_and_letters(booked: Sequence[Booking]) -> None:
    """All have paid but one of each of the last `OWING` walks."""
    accounts = {one.key: one for one in LedgerAccount.objects.all()}
    sold, paid = (accounts["receivable"], accounts["deferred_income"]), (accounts["bank"], accounts["receivable"])
    for kind, (debit, credit) in (("sale", sold), ("payment", paid)):
        Transfer.objects.bulk_create(
            Transfer(
                at=NOW, kind=kind, debit=debit, credit=credit, amount_minor=3600, currency="GBP", booking=one
            )
            for n, one in enumerate(booked)
            if kind == "sale" or n % PARTIES or n < (WALKS - OWING) * PARTIES
        )  # fmt: skip
    OutboxMessage.objects.bulk_create(
        OutboxMessage(
            kind="confirmation", contact=one.party.contact, booking=one, message_id=f"<years-{one.code}@example.org>",
            written_at=one.booked_at, due_at=one.booked_at, done_at=NOW,
        )
        for one in booked
    )  # fmt: skip
