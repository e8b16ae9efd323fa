"""The office edits the price list: lower prices, the deposit and the tax rate, as a version of its own."""

from __future__ import annotations

from datetime import date

import pytest
from django.test import Client
from django.urls import reverse

from bookings.compute.prices import Concession, PriceList, price_list_from
from bookings.models import BookingLine
from bookings.services.book_places import book_places
from bookings.vat_rates import vat_rates
from foraywright.floor.models import Business, PolicyVersion
from tests.cast import World
from tests.pages import words_of

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("september")]

LOWER = {"label_1": "student", "show_1": "a student card", "band_1": "adult", "price_1": "12.50"}


@pytest.fixture
def typed(world: World) -> dict[str, str]:
    Business.objects.update(jurisdiction="GB-ENG", vat_number="GB 000 0000 00")
    bands = PolicyVersion.objects.get(kind="prices").body["by_band"]
    return dict.fromkeys(bands, "18.00") | {"vat": "20"}


def newest() -> PolicyVersion:
    return PolicyVersion.objects.filter(kind="prices").latest("number")


def test_lower_prices_and_the_deposit_are_kept_and_shown_again(olive: Client, typed: dict[str, str]) -> None:
    page = reverse("staff_prices")
    assert olive.post(page, typed | LOWER | {"deposit": "25", "rest_days": "10"}).status_code == 302
    lower = {"key": "student", "label": "student", "show": "a student card", "band": "adult", "price": 1250}
    assert newest().body["concessions"] == [lower]
    assert newest().body["deposit"] == {"percent": 25, "rest_days": 10}
    shown = olive.get(page).content.decode()
    for value in ("student", "a student card", "12.50", "25", "10"):
        assert f'value="{value}"' in shown
    assert olive.post(page, typed).status_code == 302
    assert "concessions" not in newest().body
    assert "deposit" not in newest().body


def test_a_lower_price_with_the_same_words_keeps_its_key(olive: Client, typed: dict[str, str]) -> None:
    body = newest().body | {
        "concessions": [{"key": "kept", "label": "student", "show": "x", "band": "adult", "price": 1}]
    }
    PolicyVersion.objects.create(kind="prices", number=2, body=body, source="cast", since=newest().since)
    olive.post(reverse("staff_prices"), typed | LOWER)
    assert newest().body["concessions"][0]["key"] == "kept"


@pytest.mark.parametrize(
    ("labels", "keys"),
    [
        (("студент", "учитель"), ["lower", "lower-2"]),
        (("on a low income and over 60", "on a low income and student"), ["on-a-low-income-a", "on-a-low-income-a-2"]),
    ],
)
def test_lower_prices_never_share_a_key_and_none_is_everybodys(
    olive: Client, typed: dict[str, str], labels: tuple[str, str], keys: list[str]
) -> None:
    lower = {f"{name}_{n}": LOWER[f"{name}_1"] for name in ("show", "band", "price") for n in (1, 2)}
    olive.post(reverse("staff_prices"), typed | lower | {f"label_{n}": label for n, label in enumerate(labels, 1)})
    assert [one["key"] for one in newest().body["concessions"]] == keys
    assert price_list_from(newest().body).price("adult") == 1800


def test_the_key_that_is_nobodys_finds_no_lower_price() -> None:
    nameless = Concession("", "студент", "a card", "adult", 1)
    assert PriceList("GBP", 0, {"adult": 1800}, (nameless,)).price("adult") == 1800


def test_what_was_sold_keeps_its_version(olive: Client, world: World, typed: dict[str, str]) -> None:
    book_places(world.order("adult"), by="participant", now=world.now)
    before = BookingLine.objects.values().get()
    olive.post(reverse("staff_prices"), typed | {"adult": "99.00"})
    assert BookingLine.objects.values().get() == before


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"vat": "17.5"}, "17.5 per cent is no rate there."),
        ({"label_1": "student"}, "A lower price needs all three"),
        (LOWER | {"price_1": "18.01"}, "costs more than the price"),
        ({"deposit": "30"}, "A deposit needs both"),
        ({"deposit": "100", "rest_days": "3"}, "less than or equal to 99"),
    ],
)
def test_what_is_unsound_is_said_and_nothing_is_lost(
    olive: Client, typed: dict[str, str], changes: dict[str, str], said: str
) -> None:
    answer = olive.post(reverse("staff_prices"), typed | {"adult": "18.00"} | changes)
    assert answer.status_code == 422
    assert said in words_of(answer.content)
    assert all(f'value="{value}"' in answer.content.decode() for key, value in changes.items() if key != "band_1")
    assert newest().number == 1


def test_without_a_vat_number_no_tax_is_charged(olive: Client, typed: dict[str, str]) -> None:
    Business.objects.update(vat_number="")
    assert "No VAT number is recorded" in words_of(olive.post(reverse("staff_prices"), typed).content)
    assert olive.post(reverse("staff_prices"), typed | {"vat": "0"}).status_code == 302


def test_the_standard_rate_is_that_of_the_day() -> None:
    """17.5 % until 3 January 2011, 20 % from the next day on: as stated by several pages read on 2026-11-25."""

    def standard(day: date) -> list[int]:
        return [one.basis_points for one in vat_rates("GB-ENG", day) if one.name == "standard"]

    assert standard(date(2011, 1, 3)) == [1750]
    assert standard(date(2011, 1, 4)) == [2000]
    assert vat_rates("FR", date(2026, 1, 1)) == ()


@pytest.mark.parametrize(("currency", "price", "minor"), [("JPY", "1800", 1800), ("BHD", "7.125", 7125)])
def test_prices_have_the_decimals_of_their_currency(
    olive: Client, typed: dict[str, str], currency: str, price: str, minor: int
) -> None:
    Business.objects.update(currency=currency)
    prices = dict.fromkeys(newest().body["by_band"], price) | {"vat": "20"}
    assert olive.post(reverse("staff_prices"), prices).status_code == 302
    assert set(newest().body["by_band"].values()) == {minor}
    assert f'value="{price}"' in olive.get(reverse("staff_prices")).content.decode()
    assert olive.post(reverse("staff_prices"), prices | {"adult": "1.2345"}).status_code == 422


def test_where_the_tax_has_a_policy_of_its_own_the_price_list_asks_for_no_rate(
    olive: Client, typed: dict[str, str]
) -> None:
    body = {"registered": True, "from_day": "2026-01-01", "supplies": {}}
    body["supplies"] = {key: {"category": "standard", "basis_points": 2000} for key in ("walk", "course", "group")}
    PolicyVersion.objects.create(kind="vat", number=1, body=body, source="cast", since=newest().since)
    page = reverse("staff_prices")
    assert "VAT in the prices" not in words_of(olive.get(page).content)
    assert olive.post(page, typed).status_code == 302
    assert "vat_basis_points" not in newest().body
