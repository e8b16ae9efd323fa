"""The code for a transfer in euro (EPC069-12)."""

from __future__ import annotations

import re

import pytest
import segno
from django.test import Client

from bookings.compute.references import creditor_reference
from bookings.compute.transfer_code import transfer_svg
from bookings.services.book_places import book_places
from bookings.services.booking_link import booking_link
from foraywright.floor.models import Business, PolicyVersion
from tests.cast import World

IBAN = "BE72000000001616"
# The order of the lines: EPC069-12, table of data elements (service tag, version, character set, identification, BIC,
# name, IBAN, amount, purpose, creditor reference); name, BIC and IBAN are those of its example.
LINES = ("BCD", "002", "1", "SCT", "BPOTBEB1", "Red Cross of Belgium", IBAN, "EUR36.5", "", "RF18539007547034")


def drawn(svg: str) -> str:
    """The path of the dark modules."""
    return re.findall(r' d="(M[^"]*)"', svg)[-1]


def test_it_holds_the_lines_of_the_guideline_at_level_m() -> None:
    svg = transfer_svg(
        name="Red Cross of Belgium", iban=IBAN, bic="BPOTBEB1", amount_minor=3650, reference="RF18 5390 0754 7034"
    )
    expected = segno.make_qr("\n".join(LINES).encode(), error="m", boost_error=False)
    assert drawn(svg) == drawn(expected.svg_inline(border=4, dark="#000", light="#fff"))


@pytest.mark.parametrize("changed", [{"amount_minor": 0}, {"name": "x" * 71}, {"bic": "SHORT"}])
def test_what_the_guideline_does_not_allow_is_refused(changed: dict[str, object]) -> None:
    given = {"name": "N", "iban": IBAN, "bic": "", "amount_minor": 1, "reference": "RF18539007547034"}
    with pytest.raises(ValueError, match="Invalid"):
        transfer_svg(**(given | changed))  # type: ignore[arg-type]


@pytest.mark.parametrize(("currency", "iban", "shown"), [("EUR", IBAN, True), ("EUR", "", False), ("GBP", IBAN, False)])
def test_the_booking_page_shows_it_for_euro_only(
    world: World, client: Client, currency: str, iban: str, shown: bool
) -> None:
    body = world.offering.prices.body | {"currency": currency}
    world.offering.prices = PolicyVersion.objects.create(
        kind="prices", number=9, body=body, source="the cast", since=world.now
    )
    world.offering.save()
    Business.objects.update(account_name="Cast", iban=iban, currency=currency)
    booking = book_places(world.order(), by="participant", now=world.now)
    page = client.get(f"/booking/{booking_link(booking, now=world.now)}/").content.decode()
    assert ("Scan it with your banking app" in page) is shown
    if shown:
        code = transfer_svg(
            name="Cast", iban=IBAN, bic="", amount_minor=3600, reference=creditor_reference(booking.code)
        )
        assert drawn(code) in page
