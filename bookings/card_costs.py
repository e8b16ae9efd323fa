"""What taking cards costs: of one offering, and of the business as a whole."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from datetime import date

from django.db.models import Case, F, Q, Sum, When

from bookings.models import CardPayment, CardPayout, Chargeback, Transfer

LOST = Q(debit__key="bad_debts") | Q(credit__key="bad_debts")
SIGNED_LOSS = Case(When(debit__key="bad_debts", then=F("amount_minor")), default=-F("amount_minor"))


def card_costs(keys: Sequence[int]) -> Counter[int]:
    """Minor units by offering: fees of its card payments and chargebacks, debts that were let go. Three queries."""
    fees = CardPayment.objects.filter(booking__offering__in=keys).values_list("booking__offering")
    taken_back = Chargeback.objects.filter(booking__offering__in=keys)
    lost = Transfer.objects.filter(LOST, booking__offering__in=keys)
    found: Counter[int] = Counter()
    for sums in (
        fees.annotate(sum=Sum("fee_minor", default=0)),
        taken_back.values_list("booking__offering").annotate(sum=Sum("fee_minor", default=0)),
        lost.values_list("booking__offering").annotate(sum=Sum(SIGNED_LOSS, default=0)),
    ):
        for key, amount in sums:
            found[key] += amount
    return found


def fees_of_no_walk(first: date, last: date) -> int:
    """Minor units that the provider charged in these days for the account as a whole, or for vouchers, with what was
    lost of vouchers whose price was taken back. Four queries.
    """
    days = (first, last)
    own = CardPayout.objects.filter(is_shared=False, taken_back_at=None, noted_at__date__range=days)
    vouchers = CardPayment.objects.filter(booking=None, voucher__issued_at__date__range=days)
    taken_back = Chargeback.objects.filter(booking=None, came_at__date__range=days)
    lost = Transfer.objects.filter(LOST, booking=None, at__date__range=days)
    fees = sum(one.aggregate(sum=Sum("fee_minor", default=0))["sum"] for one in (own, vouchers, taken_back))
    return fees + lost.aggregate(sum=Sum(SIGNED_LOSS, default=0))["sum"]
