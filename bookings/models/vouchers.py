"""Gift vouchers. What one is still worth is a sum over the ledger; nobody's name stands on it."""

from __future__ import annotations

from django.db import models

from bookings.models.bookings import Booking
from foraywright.floor.ids import new_public_id


class VoucherOrder(models.Model):  # type: ignore[django-manager-missing]  # as for bookings
    """A voucher that somebody means to pay, by card or by transfer with `code` in the reference. Nobody's name stands
    on it.
    """

    public_id = models.CharField(max_length=20, unique=True, default=new_public_id, editable=False)
    code = models.CharField(max_length=8, unique=True, help_text="In the creditor reference; no booking has it")
    value_minor = models.PositiveIntegerField()
    currency = models.CharField(max_length=3)
    # The random key of the form that ordered it: the same form sent twice is one order.
    key = models.CharField(max_length=40, unique=True)
    ordered_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=models.Q(value_minor__gt=0), name="an_order_of_more_than_nothing"),
        ]

    def __str__(self) -> str:
        return self.public_id


class Voucher(models.Model):
    """Somebody's money in our hands, for walks to come: whoever has the code may pay with it.

    Single-purpose (a rate is frozen): tax was owed from the issue on. Multi-purpose (no rate): it is owed at use.
    """

    public_id = models.CharField(max_length=20, unique=True, default=new_public_id, editable=False)
    code = models.CharField(max_length=8, unique=True, help_text="Can be spoken; ends in a check character")
    value_minor = models.PositiveIntegerField()
    currency = models.CharField(max_length=3)
    vat_basis_points = models.PositiveIntegerField(null=True, blank=True, help_text="Empty: multi-purpose")
    issued_at = models.DateTimeField()
    valid_to = models.DateField(help_text="Last day on which a booking can be paid with it")
    # The random key of the form that sold it: the same form sent twice is one voucher.
    key = models.CharField(max_length=40, unique=True)
    instead_of = models.ForeignKey(
        Booking,
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="vouchers",
        help_text="The called-off booking whose party chose it",
    )
    order = models.ForeignKey(
        VoucherOrder,
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="vouchers",
        help_text="The order that the money was for",
    )

    class Meta:
        constraints = [
            models.CheckConstraint(condition=models.Q(value_minor__gt=0), name="a_voucher_of_more_than_nothing"),
        ]

    def __str__(self) -> str:
        return self.public_id
