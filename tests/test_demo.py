"""The demo season: it loads on every day of the year, holds what it promises, and loads once."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, date, datetime, timedelta

import pytest
from django.core.management import CommandError, call_command
from django.db import transaction
from django.db.models import Count

from bookings.demo import Season, load_demo, read
from bookings.models import Booking, Person, Place, Transfer
from bookings.queries import statement_of
from curriculum.models import AccountVersion, SignOff
from curriculum.queries import accounts_in_use, dangerous_lookalikes
from curriculum.services.load_starter import load_starter
from foraywright.floor.models import AuditLine, Business, User
from walks.models import GuideCertificate, Offering, Walk

pytestmark = pytest.mark.django_db
LONG_AGO = datetime(2025, 1, 1, tzinfo=UTC)
DAYS = (
    date(2026, 1, 1),
    date(2026, 3, 23),
    date(2026, 3, 29),
    date(2026, 6, 21),
    date(2026, 8, 31),
    date(2026, 10, 19),
    date(2026, 10, 25),
    date(2026, 11, 25),
    date(2026, 12, 21),
    date(2026, 12, 31),
    date(2027, 2, 14),
    date(2028, 2, 29),
)
"""New year, both changes of clocks and the weeks before them, both solstices, month ends, a leap day."""


def load(day: date) -> datetime:
    now = datetime(day.year, day.month, day.day, 8, tzinfo=UTC)
    load_demo(now=now, today=day)
    return now


def check_promises(now: datetime) -> None:
    """What the demo is there to show."""
    walks = Walk.objects.select_related("offering")
    assert 54 <= Person.objects.exclude(party__booking__state__in=("waiting", "held")).count() <= 66
    assert walks.filter(ends_at__lt=now, offering__state="published").exists()
    assert walks.filter(starts_at__gt=now, offering__state="published").count() >= 6
    for state, number in (("called_off", 1), ("draft", 1)):
        assert Offering.objects.filter(state=state).count() == number
    course = Offering.objects.get(kind="course")
    assert course.walks.count() == 4
    assert any(_is_full(walk, now) for walk in walks.filter(starts_at__gt=now, offering__state="published"))
    assert Booking.objects.filter(state="called_off").exists()
    assert Booking.objects.filter(state="waiting").count() == 3
    assert set(Booking.objects.filter(state="held").values_list("hold_kind", flat=True)) == {"offer", "checkout"}
    assert walks.filter(is_night_walk=True).exists()


def _is_full(walk: Walk, now: datetime) -> bool:
    return statement_of(walk, now=now).places_left == 0


def check_no_lie(now: datetime) -> None:
    """Nothing in it that the program would refuse, and nothing from the days to come."""
    published = Walk.objects.filter(offering__state="published")
    assert [str(walk) for walk in published if statement_of(walk, now=now).refusals] == []
    assert not Booking.objects.filter(booked_at__gt=now).exists()
    assert not Transfer.objects.filter(at__gt=now).exists()
    assert not AuditLine.objects.filter(at__gt=now).exists()
    late = [
        one.code for one in Booking.objects.all() if one.offering.walks.earliest("starts_at").starts_at <= one.booked_at
    ]
    assert late == []
    twice = Place.objects.filter(given_back_at=None).values("walk", "person").annotate(n=Count("pk")).filter(n__gt=1)
    assert not twice.exists()
    assert set(SignOff.objects.values_list("kind", flat=True)) == {SignOff.Kind.DEMONSTRATION}


@pytest.fixture
def signed(monkeypatch: pytest.MonkeyPatch) -> None:
    """The accounts, loaded and signed once for all the days of a test: they do not hang on the day."""
    load_starter(by="command", now=LONG_AGO)
    early = Season(now=LONG_AGO + timedelta(days=51), today=date(2028, 12, 1))
    early.users["runa"] = User.objects.create_user("earlier reviewer")
    early._sign()
    monkeypatch.setattr(Season, "_sign", lambda season: None)


def check_days(days: Iterable[date]) -> None:
    """Load the season on each of the days, look, and take it back."""
    for day in days:
        with transaction.atomic():
            transaction.get_connection().atomic_blocks[-1]._from_testcase = True
            now = load(day)
            check_promises(now)
            check_no_lie(now)
            transaction.set_rollback(True)


def test_loads_on_days_of_every_kind(signed: None) -> None:
    check_days(DAYS)


@pytest.mark.slow
@pytest.mark.parametrize("month", range(1, 13))
def test_loads_on_every_day_of_a_leap_year(signed: None, month: int) -> None:
    first = date(2028, month, 1)
    days = [first + timedelta(days=n) for n in range(31)]
    check_days(day for day in days if day.month == month)


def test_what_the_demo_teaches_can_be_signed(signed: None) -> None:
    """Named one by one: an account that comes to be like a dangerous one keeps its walks from being published."""
    accounts = accounts_in_use()
    open_themes = {}
    for theme in read("season")["theme"]:
        taught = [accounts[key] for key in theme["taxa"]]
        feared = [other for one in taught for other in dangerous_lookalikes(one.account, accounts)]
        unsigned = {one.taxon.key for one in (*taught, *feared) if one.sign_off is None}
        if unsigned and theme["key"] not in themes_left_as_drafts():
            open_themes[theme["key"]] = sorted(unsigned)
    assert open_themes == {}


def themes_left_as_drafts() -> set[str]:
    """Themes that only drafts of the season have."""
    walks = read("season")["walk"]
    return {key for one in walks for key in one["themes"] if one.get("draft")} - {
        key for one in walks for key in one["themes"] if not one.get("draft")
    }


def test_the_second_time_nothing_is_written(capsys: pytest.CaptureFixture[str]) -> None:
    call_command("load_demo", today=date(2026, 11, 25))
    before = [model.objects.count() for model in (AuditLine, Booking, Walk, AccountVersion, Transfer, GuideCertificate)]
    call_command("load_demo", today=date(2027, 1, 1))
    after = [model.objects.count() for model in (AuditLine, Booking, Walk, AccountVersion, Transfer, GuideCertificate)]
    assert before == after
    name = Business.objects.get().name
    assert capsys.readouterr().out.splitlines() == [
        "The demo season is loaded.",
        f"“{name}” is there already; nothing was loaded.",
    ]


def test_a_business_of_ones_own_is_left_alone(capsys: pytest.CaptureFixture[str]) -> None:
    Business.objects.create(name="Mine", email="a@example.org", phone="1", jurisdiction="GB-ENG", calendar_domain="x")
    call_command("load_demo")
    assert capsys.readouterr().out == "“Mine” is there already; nothing was loaded.\n"
    assert not Walk.objects.exists()


def test_a_start_that_broke_off_says_what_to_do() -> None:
    Business.objects.create(
        name="Half", email="a@example.org", phone="1", jurisdiction="GB-ENG", calendar_domain="x", is_demonstration=True
    )
    with pytest.raises(CommandError) as refused:
        call_command("load_demo")
    assert str(refused.value) == (
        "The demo season was only partly loaded: an earlier start was interrupted. "
        "Delete the database (the folder var/ of a demo holds nothing else) and start again."
    )


def test_the_season_lies_around_the_day_that_is_asked_for() -> None:
    call_command("load_demo", today=date(2026, 6, 10), verbosity=0)
    days = Walk.objects.values_list("local_date", flat=True)
    assert min(days) == date(2026, 5, 30)
    assert date(2026, 6, 20) in days
