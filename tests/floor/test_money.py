"""Money: half-up, shares that add up, tax contained, and how it is written."""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bookings.compute.prices import price_list_from, total
from bookings.compute.references import LONGEST, creditor_reference
from foraywright.floor.compute.money import as_text, half_up, in_major, in_minor, share_out, tax_within

amounts = st.integers(-(10**9), 10**9)


@pytest.mark.parametrize(
    ("amount", "rounded"),
    [
        (Fraction(1, 2), 1),
        (Fraction(3, 2), 2),
        (Fraction(5, 2), 3),
        (Fraction(-1, 2), -1),
        (Fraction(-5, 2), -3),
        (Fraction(49, 100), 0),
        (Fraction(-49, 100), 0),
        (Fraction(7), 7),
    ],
)
def test_a_half_goes_away_from_nought(amount: Fraction, rounded: int) -> None:
    assert half_up(amount) == rounded


@given(amounts, st.integers(1, 5))
def test_rounds_as_decimal_arithmetic_does(numerator: int, power: int) -> None:
    exact = Decimal(numerator) / 10**power
    assert half_up(Fraction(numerator, 10**power)) == int(exact.quantize(Decimal(1), ROUND_HALF_UP))


@given(amounts, st.lists(st.integers(0, 10**6), min_size=1, max_size=12).filter(any))
def test_shares_add_up_and_none_is_a_penny_off(whole: int, weights: list[int]) -> None:
    shares = share_out(whole, weights)
    assert sum(shares) == whole
    assert all(abs(one - Fraction(whole * w, sum(weights))) < 1 for one, w in zip(shares, weights, strict=True))
    assert all(one == 0 for one, w in zip(shares, weights, strict=True) if w == 0)


def test_the_odd_penny_goes_to_the_largest_remainder_and_on_a_tie_to_the_first() -> None:
    assert share_out(100, [1, 1, 1]) == [34, 33, 33]
    assert share_out(200, [1, 1, 1]) == [67, 67, 66]
    assert share_out(10, [1, 2, 4]) == [1, 3, 6]
    assert share_out(0, [3, 4]) == [0, 0]


@pytest.mark.parametrize("weights", [[], [0, 0], [2, -1]])
def test_weights_that_share_nothing_are_refused(weights: list[int]) -> None:
    with pytest.raises(ValueError, match=r"^Shares need weights of 0 or more, at least one of them above 0\.$"):
        share_out(5, weights)


@pytest.mark.parametrize(("gross", "rate", "tax"), [(1200, 2000, 200), (1800, 2000, 300), (100, 2000, 17), (500, 0, 0)])
def test_tax_contained_in_a_gross_amount(gross: int, rate: int, tax: int) -> None:
    """VAT fraction 1/6 at 20 % (HMRC VAT guide, Notice 700, from memory)."""
    assert tax_within(gross, rate) == tax


@pytest.mark.parametrize(
    ("minor", "currency", "text"),
    [
        (5400, "GBP", "£54.00"),
        (5, "EUR", "€0.05"),
        (-1350, "GBP", "−£13.50"),
        (0, "GBP", "£0.00"),
        (123, "SEK", "SEK 1.23"),
        (5400, "JPY", "JPY 5400"),
        (5, "BHD", "BHD 0.005"),
        (-12345, "BHD", "−BHD 12.345"),
        (10**9, "JPY", "JPY 1000000000"),
    ],
)
def test_is_written_with_its_sign(minor: int, currency: str, text: str) -> None:
    assert as_text(minor, currency) == text


BODY = {"currency": "GBP", "vat_basis_points": 2000, "by_band": {"adult": 1800, "4-8": 900, "under-2": 0}}


def test_a_party_pays_by_band() -> None:
    prices = price_list_from(BODY)
    assert total(prices, ["adult", "adult", "4-8", "under-2"]) == 4500
    assert total(prices, []) == 0
    with pytest.raises(KeyError):
        prices.price("giant")


@pytest.mark.parametrize("price", [-1, 9.5, "900", None])
def test_a_price_is_a_whole_number(price: object) -> None:
    with pytest.raises(ValueError, match="a price is a whole number of minor units, 0 or more"):
        price_list_from(BODY | {"by_band": {"adult": price}})


@pytest.mark.parametrize("code", ["", "k7m4qxr", "K7M-4QX", "É123", "A" * (LONGEST - 3)])
def test_a_code_that_cannot_be_in_a_reference(code: str) -> None:
    with pytest.raises(ValueError, match="cannot be part of a creditor reference"):
        creditor_reference(code)


@given(st.text("ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789", min_size=1, max_size=LONGEST - 4))
def test_a_reference_leaves_1_when_divided_by_97(code: str) -> None:
    """ISO/IEC 7064 MOD 97-10, written a second time: letters are 10 to 35, the first four characters go to the end."""
    reference = creditor_reference(code)
    moved = reference[4:] + reference[:4]
    assert int("".join(str(int(one, 36)) for one in moved)) % 97 == 1
    assert len(reference) <= LONGEST


@given(amounts, st.sampled_from(["GBP", "JPY", "BHD", "CLF"]))
def test_whole_units_and_minor_units_are_one_amount(minor: int, currency: str) -> None:
    assert in_minor(in_major(minor, currency), currency) == minor


@pytest.mark.parametrize(("amount", "currency"), [("1.5", "JPY"), ("1.005", "GBP"), ("0.0005", "BHD")])
def test_no_amount_is_finer_than_its_currency(amount: str, currency: str) -> None:
    with pytest.raises(ValueError, match=f"^{currency} has [0-3] decimals"):
        in_minor(Decimal(amount), currency)
