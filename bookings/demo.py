"""The demo season: fixtures_demo/ read and put in through the services, with dates relative to one day.

Nothing here writes what a page could not: the demo cannot hold what the program would refuse.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import Any
from uuid import uuid4

from django.contrib.auth.models import Group

from bookings.attendance import Attendee, attendees
from bookings.compute.hold_times import is_night
from bookings.compute.references import creditor_reference, in_groups
from bookings.demo_assessments import sign_for_the_demo
from bookings.demo_cards import pay_by_card_for_the_demo
from bookings.demo_declarations import declare_for_the_demo
from bookings.demo_finds import list_finds_for_the_demo
from bookings.demo_incidents import report_for_the_demo
from bookings.demo_walk_ups import take_on_for_the_demo
from bookings.models import Booking
from bookings.queries import ADULT, balance
from bookings.services.book_places import book_places
from bookings.services.call_off_walk import call_off_walk
from bookings.services.cancel_booking import cancel_booking
from bookings.services.hold_places import hold_places
from bookings.services.issue_invoice import issue_invoice, issue_receipt
from bookings.services.issue_voucher import issue_voucher
from bookings.services.join_waiting_list import join_waiting_list
from bookings.services.keep_discount_code import Terms, issue_discount_code
from bookings.services.mark_attendance import Tick, mark_attendance
from bookings.services.offer_places import offer_next_places
from bookings.services.orders import Order
from bookings.services.pay_by_voucher import pay_by_voucher
from bookings.services.record_payment import record_payment
from bookings.services.take_in_statement import take_in_and_match
from curriculum.errors import NotSigned
from curriculum.models import AccountVersion, SignOff, Taxon
from curriculum.queries import accounts_in_use
from curriculum.services.load_starter import load_starter
from curriculum.services.sign_off_account import Signature, sign_off_account
from foraywright.floor.models import Business, PolicyVersion, User
from walks.compute.arrivals import Brought
from walks.models import (
    Guide,
    GuideCertificate,
    InsuranceCover,
    Offering,
    Site,
    Theme,
    ThemeTaxon,
    Walk,
)
from walks.policies import default_ratios
from walks.season_wanted import usual
from walks.services.ask_for_plan import ask_for_plan
from walks.services.keep_absence import keep_absence
from walks.services.publish_walk import publish_walk
from walks.services.save_permission import save_permission
from walks.services.save_route import save_route
from walks.services.save_site import save_site
from walks.services.save_template import save_template
from walks.services.schedule_walk import Plan, Session, schedule_walk

FILES = Path(__file__).resolve().parent.parent / "fixtures_demo"
DAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
SCHEDULED, PUBLISHED, ASSESSED = timedelta(days=45), timedelta(days=44), timedelta(days=43)


def read(name: str) -> dict[str, Any]:
    """One file of the demo season."""
    return tomllib.loads((FILES / f"{name}.toml").read_text(encoding="utf-8"))


def load_demo(*, now: datetime, today: date) -> None:
    """Load the whole season around `today` into an empty database. Each act is a transaction of its own."""
    season = Season(now=now, today=today)
    load_starter(by="command", now=now - timedelta(days=60))
    season.make_business()
    season.make_people()
    season.make_sites()
    season.teach()
    season.schedule()
    sign_for_the_demo(season.offerings, season.users, now=now - ASSESSED)
    season.take_bookings()
    season.sell_vouchers()
    declare_for_the_demo(now=now)
    season.take_in_statement()
    pay_by_card_for_the_demo(by=season.users["olga"], now=now)
    season.call_off()
    season.look_back()
    season.let_wait()
    season.look_ahead()


FORGETS = 5
"""One party in so many forgets to pay in time."""


@dataclass
class Season:
    """The season as it is being put in: what later files name by key."""

    now: datetime
    today: date
    users: dict[str, User] = field(default_factory=dict)
    guides: dict[str, Guide] = field(default_factory=dict)
    sites: dict[str, Site] = field(default_factory=dict)
    themes: dict[str, Theme] = field(default_factory=dict)
    offerings: dict[str, Offering] = field(default_factory=dict)
    course_prices: PolicyVersion | None = None

    def make_business(self) -> None:
        """The school, its policies and its cover."""
        files = read("business")
        Business.objects.create(**files["business"])
        InsuranceCover.objects.create(**self._dated(files["insurance"]))
        self._policy(PolicyVersion.Kind.RATIOS, 1, {"body": default_ratios(), "source": default_ratios()["version"]})
        self.course_prices = self._policy(PolicyVersion.Kind.PRICES, 1, files["course_prices"])
        self._policy(PolicyVersion.Kind.PRICES, 2, files["prices"])
        self._policy(PolicyVersion.Kind.VAT, 1, files["vat"])
        self._policy(PolicyVersion.Kind.REFUNDS, 1, files["refunds"])
        self._issue(files["discount"])

    def _issue(self, entry: Mapping[str, Any]) -> None:
        dated = self._dated(entry)
        first, last = dated.pop("valid_from"), dated.pop("valid_to")
        issue_discount_code(Terms(first_day=first, last_day=last, **dated), by="command", now=self.now)

    def _policy(self, kind: str, number: int, entry: Mapping[str, Any]) -> PolicyVersion:
        since = self.now - timedelta(days=200)
        return PolicyVersion.objects.create(kind=kind, number=number, since=since, **entry)

    def _dated(self, entry: Mapping[str, Any]) -> dict[str, Any]:
        """The entry with from_days and to_days turned into dates, closed_days into a season of every year."""
        whole = dict(entry)
        whole["valid_from"] = self.today + timedelta(days=whole.pop("from_days"))
        whole["valid_to"] = self.today + timedelta(days=whole.pop("to_days"))
        if "closed_days" in whole:
            days = (self.today + timedelta(days=one) for one in whole.pop("closed_days"))
            whole["closed_seasons"] = [[f"{day:%m-%d}" for day in days]]
        return whole

    def make_people(self) -> None:
        """Logins, guides and their certificates."""
        for entry in read("logins")["login"]:
            first, last = entry["full_name"]
            user = User.objects.create_user(entry["name"], password=entry["password"], first_name=first, last_name=last)
            user.groups.set(Group.objects.filter(name=entry["role"]))
            self.users[entry["name"]] = user
        for entry in read("guides")["guide"]:
            self._make_guide(dict(entry))

    def _make_guide(self, entry: dict[str, Any]) -> None:
        certificates, login, away = entry.pop("certificates"), entry.pop("login", None), entry.pop("away", ())
        guide = Guide.objects.create(user=self.users.get(login) if login else None, **entry)
        for one in certificates:
            GuideCertificate.objects.create(guide=guide, **self._dated(one))
        for first, last in away:
            days = (self.today + timedelta(days=days) for days in (first, last))
            keep_absence(guide, *days, by="command", now=self.now - SCHEDULED)
        self.guides[guide.name] = guide

    def make_sites(self) -> None:
        """The three sites and the landowners' permissions."""
        for entry in read("sites")["site"]:
            values = dict(entry)
            key, permission, way = values.pop("key"), values.pop("permission"), values.pop("way", None)
            typed = {field: values.pop(field) for field in ("reference", "ground") if field in values}
            olga, before = self.users["olga"], self.now - SCHEDULED
            site = save_site(values, **typed, by=olga, now=before)
            save_permission(site, self._dated(permission), by=olga, now=before)
            if way:
                content = (FILES / "routes" / f"{key}.gpx").read_bytes()
                save_route(site, content, name=way, by=olga, now=before)
            self.sites[key] = site

    def teach(self) -> None:
        """The themes, and demonstration signatures under the starter curriculum."""
        for entry in read("season")["theme"]:
            values = dict(entry)
            key, taxa = values.pop("key"), values.pop("taxa")
            values.pop("months")
            self.themes[key] = theme = Theme.objects.create(**values)
            for place, taxon in enumerate(taxa):
                ThemeTaxon.objects.create(theme=theme, taxon=Taxon.objects.get(key=taxon), place=place)
        self._sign()

    def _sign(self) -> None:
        """Sign what the rules let be signed; an account with a gap stays a draft, in the demo as anywhere."""
        for one in accounts_in_use().values():
            try:
                self._sign_one(one.version)
            except NotSigned:
                continue

    def _sign_one(self, version: AccountVersion) -> None:
        signature = Signature(
            kind=SignOff.Kind.DEMONSTRATION,
            competence="None: this signature shows how signing looks",
            review_by=self.today + timedelta(days=300),
            thin_reason="None was weighed: this signature shows how signing looks.",
        )
        sign_off_account(version, signature, by=self.users["runa"], now=self.now - timedelta(days=50))

    def schedule(self) -> None:
        """Walks and the course, published unless they are drafts."""
        season = read("season")
        months = {entry["key"]: entry["months"] for entry in season["theme"]}
        for entry in season["walk"]:
            theme = self._theme(entry, months)
            plan = Plan(entry.get("title", theme.name), theme, (self._session(entry),), lead=theme.lead)
            self._offer(entry, plan)
        for entry in season["course"]:
            sessions = tuple(self._session(one) for one in entry["sessions"])
            theme = self.themes[entry["site_theme"]]
            self._offer(entry, Plan(entry["title"], theme, sessions, lead=entry["lead"], prices=self.course_prices))

    def _theme(self, entry: Mapping[str, Any], months: Mapping[str, list[int]]) -> Theme:
        month = self._day(entry).month
        return self.themes[next(key for key in entry["themes"] if month in months[key])]

    def _day(self, entry: Mapping[str, Any]) -> date:
        monday = self.today + timedelta(days=7 - self.today.weekday())
        return monday + timedelta(weeks=entry["week"], days=DAYS.index(entry["day"]))

    def _session(self, entry: Mapping[str, Any]) -> Session:
        low_water = entry.get("low_water")
        return Session(
            site=self.sites[entry["site"]],
            local_date=self._day(entry),
            local_time=time.fromisoformat(entry["time"]),
            minutes=entry["minutes"],
            guides=tuple(self.guides[name] for name in entry["guides"]),
            helpers=tuple(self.guides[name] for name in entry.get("helpers", ())),
            is_night_walk=entry.get("night", False),
            heading=entry.get("heading", ""),
            points="\n".join(entry.get("points", ())),
            low_water=time.fromisoformat(low_water) if low_water else None,
        )

    def _offer(self, entry: Mapping[str, Any], plan: Plan) -> None:
        offering = schedule_walk(plan, by=self.users["olga"], now=self.now - SCHEDULED)
        if not entry.get("draft"):
            offering = publish_walk(offering, by=self.users["olga"], now=self.now - PUBLISHED)
        self.offerings[entry["key"]] = offering

    def take_bookings(self) -> None:
        """The participants' parties, booked over the weeks before today, some of them paid."""
        for number, entry in enumerate(read("participants")["party"]):
            booked = self.now - timedelta(days=40 - number, minutes=37 * number)
            booking = book_places(_order(self.offerings[entry["walk"]], entry, number), by="participant", now=booked)
            if entry.get("paid"):
                self._pay(booking, now=booked + timedelta(days=1))
                self._write_papers(booking, now=booked + timedelta(days=1))
            elif booking.pay_by and booking.pay_by < self.now.date() and number % FORGETS:
                self._pay(booking, now=booked + timedelta(days=2))

    def _pay(self, booking: Booking, *, now: datetime) -> None:
        record_payment(booking, into="bank", amount_minor=balance(booking), by=self.users["olga"], now=now)

    def _write_papers(self, booking: Booking, *, now: datetime) -> None:
        """An invoice and a receipt, as some ask for them: what is cancelled later is credited by itself."""
        buyer = booking.party.contact.name
        issue_invoice(booking, buyer=buyer, by="participant", now=now)
        issue_receipt(booking, buyer=buyer, by="participant", now=now)

    def take_in_statement(self) -> None:
        """Yesterday's bank statement: a payment in part that finds its booking, and one that names none."""
        unpaid = next(one for one in Booking.objects.order_by("pk") if one.pay_by and balance(one) > 0)
        form = (FILES / "statement.xml").read_text(encoding="utf-8")
        reference = in_groups(creditor_reference(unpaid.code)).lower()
        content = form.format(reference=reference, day=self.today - timedelta(days=1)).encode()
        take_in_and_match(content, by=self.users["olga"], now=self.now)

    def sell_vouchers(self) -> None:
        """Two vouchers: one as it was sold, one that has paid for a booking."""
        sold = self.now - timedelta(days=20)
        issue_voucher(value_minor=5000, into="bank", key="demo-voucher-1", by=self.users["olga"], now=sold)
        used = issue_voucher(value_minor=3000, into="cash", key="demo-voucher-2", by=self.users["ines"], now=sold)
        confirmed = Booking.objects.filter(state=Booking.State.CONFIRMED, offering__walks__starts_at__gt=self.now)
        owing = (one for one in confirmed.order_by("pk") if balance(one) > 0)
        if booking := next(owing, None):
            pay_by_voucher(booking, used.code, by="participant", now=self.now - timedelta(hours=5))

    def look_back(self) -> None:
        """Who came to the walk that is over, and the walk that is kept as a template."""
        save_template(self.offerings["wood-1"], "Saturday in the wood", by=self.users["olga"], now=self.now)
        walk = self.offerings["past"].walks.get()
        take_on_for_the_demo(walk, by=self.users["ines"])
        ticks = [self._tick(walk, one) for one in attendees(walk)]
        mark_attendance(walk, ticks, by=self.users["ines"], now=walk.ends_at)
        list_finds_for_the_demo(walk, by=self.users["ines"])
        report_for_the_demo(walk, by=self.users["ines"], owner=self.users["olga"])

    def _tick(self, walk: Walk, one: Attendee) -> Tick:
        state = "absent" if one.name == "Corin Lapwing" else "present"
        return Tick(uuid4(), one.place.person.public_id, state, walk.starts_at, settles=True)

    def call_off(self) -> None:
        """The walks that the season calls off."""
        for entry in read("season")["walk"]:
            if why := entry.get("called_off"):
                yesterday = self.now - timedelta(days=1)
                call_off_walk(self.offerings[entry["key"]], why=why, by=self.users["olga"], now=yesterday)

    def let_wait(self) -> None:
        """A waiting list on the full walk, an offer from it after a party cancelled, and a hold elsewhere."""
        waiting = read("waiting")
        for number, entry in enumerate(waiting["party"], start=200):
            joined = self.now - timedelta(hours=60 - number % 100)
            join_waiting_list(_order(self.offerings[entry["walk"]], entry, number), by="participant", now=joined)
        leaves = Booking.objects.get(party__contact__name=waiting["leaves"])
        cancel_booking(leaves, by="participant", now=self.now - timedelta(minutes=30))
        offer_next_places(now=self._by_day())
        hold = waiting["hold"]
        hold_places(_order(self.offerings[hold["walk"]], hold, 300), by="participant", now=self.now)

    def look_ahead(self) -> None:
        """A plan of the weeks after the season's walks, which the worker makes."""
        first, last = self.today + timedelta(weeks=10), self.today + timedelta(weeks=36)
        ask_for_plan(first, last, usual(first, last), by=self.users["olga"], now=self.now)

    def _by_day(self) -> datetime:
        """Now, or where it is night the evening before: no offer is made in the night."""
        zone = Business.objects.get().clock
        local = self.now.astimezone(zone)
        if not is_night(self.now, zone):
            return self.now
        day = local.date() if local.time() > time(12) else local.date() - timedelta(days=1)
        return datetime.combine(day, time(20, 30), tzinfo=zone).astimezone(self.now.tzinfo)


def _order(offering: Offering, entry: Mapping[str, Any], number: int) -> Order:
    people = list(_people(entry["people"]))
    contact = people[0][0]
    return Order(
        offering=offering,
        name=contact,
        email=f"{contact.lower().replace(' ', '.')}@example.invalid",
        phone=f"01632 960 {300 + number}",
        bands=tuple(band for _, band in people),
        names=tuple(name for name, _ in people),
        guardian=True,
        key=f"demo-{number}",
        brings=Brought(cars=entry.get("cars", 0)),
    )


def _people(people: list[str]) -> Iterator[tuple[str, str]]:
    for one in people:
        name, _, band = one.partition(":")
        yield name, band or ADULT
