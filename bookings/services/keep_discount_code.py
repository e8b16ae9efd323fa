"""Issue a discount code, and end one."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime

from bookings.discounts import typed_code
from bookings.errors import NotIssued
from bookings.models import DiscountCode
from foraywright.floor.acts import By, act, record
from foraywright.floor.models import Business
from walks.models import Offering


@dataclass(frozen=True, slots=True)
class Terms:
    """What a code gives: `percent` or `amount_minor`, on these days, so often (None: no end), for what."""

    code: str
    label: str
    first_day: date
    last_day: date
    percent: int = 0
    amount_minor: int = 0
    most_uses: int | None = None
    offering: Offering | None = None


@act
def issue_discount_code(terms: Terms, *, by: By, now: datetime) -> DiscountCode:
    """Keep the code and return it. Raises NotIssued."""
    code = typed_code(terms.code)
    reasons = list(_reasons_against(code, terms))
    if reasons:
        raise NotIssued("The code was not issued.", why=reasons, became="Nothing changed.")
    issued = DiscountCode.objects.create(
        code=code,
        label=terms.label,
        percent=terms.percent,
        amount_minor=terms.amount_minor,
        currency=Business.objects.values_list("currency", flat=True).get(),
        first_day=terms.first_day,
        last_day=terms.last_day,
        most_uses=terms.most_uses,
        offering=terms.offering,
    )
    record("issue discount code", issued, by=by, now=now)
    return issued


def _reasons_against(code: str, terms: Terms) -> Iterator[str]:
    if not (code.isascii() and code.isalnum() and len(code) <= 20):
        yield "A code is made of letters and figures, 20 at most."
    elif DiscountCode.objects.filter(code=code).exists():
        yield f"There is a code {code} already, and a code is never given a second meaning."
    if (terms.percent > 0) == (terms.amount_minor > 0) or not 0 <= terms.percent <= 100:
        yield "A code gives either 1 to 100 per cent or an amount, and not both."
    if terms.last_day < terms.first_day:
        yield "Its last day is before its first."
    if terms.most_uses == 0:
        yield "It could never be used. Leave the number empty, or write 1 or more."


@act
def end_discount_code(code: DiscountCode, *, by: By, now: datetime) -> None:
    """Let the code be used no more; bookings that used it keep what it gave. Ending it again does nothing more."""
    code = DiscountCode.objects.select_for_update().get(pk=code.pk)
    if code.ended_at is None:
        code.ended_at = now
        code.save(update_fields=["ended_at"])
        record("end discount code", code, by=by, now=now)
