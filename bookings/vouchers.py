"""Reads of vouchers: what one is worth, and whether it can pay for an offering.

Tax (UK Value Added Tax Act 1994, Schedule 10B, paragraphs 4 to 8): a voucher is single-purpose if place and rate of
everything that it buys are known at its issue; then its issue is the taxed supply and its use is none. Else it is
multi-purpose: its issue is disregarded, its use is taxed. The Union's Directive (EU) 2016/1065 says the like (from
memory). Which of the two a voucher is, is read from our policy on the tax, or without one from our prices in force; ask
your own adviser before you rely on it.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from django.db.models import Exists, OuterRef, QuerySet

from bookings.compute.references import codes_in
from bookings.compute.vat import Category, vat_policy_from
from bookings.errors import NotPaidByVoucher
from bookings.models import BankLine, Booking, Chargeback, Transfer, Voucher, VoucherOrder
from bookings.queries import credit_of
from bookings.vat import taxed_as, treatment_of, vat_version_on
from foraywright.floor.compute.short_codes import read_short_code
from foraywright.floor.house_time import house_day
from foraywright.floor.models import PolicyVersion
from walks.models import Offering

DISPUTED = Exists(Chargeback.objects.filter(voucher=OuterRef("pk"), state=Chargeback.State.WAITING))
STAYS = "Nothing was taken from a voucher, and the booking stays as it was."


def left_on(voucher: Voucher) -> int:
    """Minor units that the voucher is still worth: a sum over the ledger. One query."""
    return _credited("vouchers_out", voucher.transfers.all())


def paid_for_voucher(voucher: Voucher) -> int:
    """Minor units that were paid for the voucher and not taken back, whatever it paid since. One query."""
    return _credited("vouchers_out", voucher.transfers.filter(booking=None))


def taken_off(voucher: Voucher) -> int:
    """Minor units by which the voucher is worth less since card holders took its price back. One query."""
    return -_credited("vouchers_out", voucher.transfers.filter(booking=None, kind=Transfer.Kind.CHARGEBACK))


def voucher_tax(voucher: Voucher) -> int:
    """Minor units of tax that are owed for the sale of the voucher. One query."""
    return _credited("vat", voucher.transfers.all())


def _credited(account: str, transfers: QuerySet[Transfer]) -> int:
    return transfers.aggregate(sum=credit_of(account))["sum"] or 0


def is_disputed(voucher: Voucher) -> bool:
    """Whether the holder of the card that paid for it took that back, and nobody has said what follows. One query."""
    return Voucher.objects.filter(DISPUTED, pk=voucher.pk).exists()


def order_paid_by(line: BankLine) -> VoucherOrder | None:
    """The order of a voucher that a line of a bank statement names by its reference, and no other. One query."""
    codes = codes_in(line.text) if line.came_in else ()
    return VoucherOrder.objects.filter(code__in=codes).first() if len(codes) == 1 else None


def usable_voucher(text: str, offering: Offering, *, now: datetime, lock: bool = False) -> Voucher:
    """The voucher that `text` means, in four queries. Raises NotPaidByVoucher where it cannot pay for the offering.

    `lock`: under the lock of its row, so that two bookings do not spend the same money.
    """
    vouchers = Voucher.objects.select_for_update() if lock else Voucher.objects
    voucher = vouchers.filter(code=read_short_code(text) or "").first()
    reasons = list(_reasons_against(voucher, text, offering, now=now))
    if voucher is None or reasons:
        raise NotPaidByVoucher(
            "The voucher cannot be used.", why=reasons, became=STAYS, now="Look at its code again, or ask us."
        )
    return voucher


def _reasons_against(voucher: Voucher | None, text: str, offering: Offering, *, now: datetime) -> Iterator[str]:
    if voucher is None:
        yield f"“{text[:20]}” is the code of no voucher of ours."
        return
    body = offering.prices.body
    today = house_day(now)
    if today > voucher.valid_to:
        yield f"It was good until {voucher.valid_to.day} {voucher.valid_to:%B %Y}."
    if voucher.currency != body["currency"]:
        yield "It is in another currency."
    if voucher.vat_basis_points not in (None, taxed_as(offering, now=voucher.issued_at).basis_points):
        yield "It is for walks that are taxed at another rate."
    if is_disputed(voucher):
        yield "The holder of the card that paid for it took the payment back. Ask us."
    if left_on(voucher) <= 0:
        yield "Nothing is left on it."


def rate_of_everything_sold(*, now: datetime) -> int | None:
    """The one tax rate, in basis points, of all that is on sale and of a walk at the newest prices; None where there
    are several, or where no tax is charged at all: a voucher is good for longer than that may last. Four queries.
    """
    version = vat_version_on(house_day(now))
    return _rate_of_prices() if version is None else _rate_of_supplies(version)


def _rate_of_supplies(version: PolicyVersion) -> int | None:
    sold = Offering.objects.filter(state=Offering.State.PUBLISHED)
    found = {treatment_of(one, version) for one in sold} | {vat_policy_from(version.body).of("walk")}
    one = found.pop()
    return None if found or one.category == Category.UNREGISTERED else one.basis_points


def _rate_of_prices() -> int | None:
    sold = set(Offering.objects.filter(state=Offering.State.PUBLISHED).values_list("prices", flat=True))
    policies = PolicyVersion.objects.filter(kind=PolicyVersion.Kind.PRICES).order_by("-number")
    rates = {one.body.get("vat_basis_points", 0) for n, one in enumerate(policies) if n == 0 or one.pk in sold}
    return rates.pop() if len(rates) == 1 else None


def used_for(booking: Booking) -> list[tuple[Voucher, int]]:
    """The vouchers that paid for the booking, the newest use first, with what of it did not go back. Two queries."""
    moves = booking.transfers.exclude(voucher=None).order_by("-at", "-pk").select_related("voucher", "debit")
    spent: dict[Voucher, int] = {}
    for move in moves.exclude(voucher__instead_of=booking):
        sign = 1 if move.debit.key == "vouchers_out" else -1
        if move.voucher is not None:
            spent[move.voucher] = spent.get(move.voucher, 0) + sign * move.amount_minor
    return [(voucher, amount) for voucher, amount in spent.items() if amount > 0]
