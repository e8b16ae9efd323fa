"""What the people of the demo season declared and asked for. Invented, like the people."""

from __future__ import annotations

import tomllib
from datetime import datetime, timedelta
from pathlib import Path

from bookings.ground_rules import rules_in_force
from bookings.models import Booking, Person, SaidBy
from bookings.queries import ADULT
from bookings.services.access_needs import ask_for_access
from bookings.services.declare import Answers, declare
from bookings.services.share_lifts import LiftWords, say_lift

FILE = Path(__file__).resolve().parent.parent / "fixtures_demo" / "declarations.toml"


def declare_for_the_demo(*, now: datetime) -> None:
    """Put in what the file says, through the services, as of yesterday."""
    told, yesterday = tomllib.loads(FILE.read_text(encoding="utf-8")), now - timedelta(days=1)
    for one in told["declaration"]:
        person = Person.objects.get(name=one["of"])
        said_by = SaidBy.SELF if person.band == ADULT else SaidBy.GUARDIAN
        answers = Answers(**one["answers"])
        declare(person, answers, said_by=said_by, rules=rules_in_force(), by="participant", now=yesterday)
    for one in told["access_need"]:
        booking = Booking.objects.get(party__people__name=one["of"])
        ask_for_access(booking, one["need"], by="participant", now=yesterday)
    for one in told["lift"]:
        booking = Booking.objects.get(party__people__name=one["of"])
        say_lift(booking, LiftWords(**one["words"]), by="participant", now=yesterday)
