"""The business. One business a database."""

from datetime import timedelta, tzinfo

from django.db import models

from foraywright.floor.compute.zones import clock_of


class Business(models.Model):
    """Who runs the walks: printed on every page, sheet, letter and calendar. There is exactly one row."""

    # What the audit calls it: there is only one.
    public_id = "business"

    only = models.PositiveSmallIntegerField(primary_key=True, default=1, editable=False)
    name = models.CharField(max_length=80)
    strapline = models.CharField(max_length=160, blank=True)
    email = models.EmailField()
    phone = models.CharField(max_length=30, help_text="As people should dial it, e.g. 01632 960 118")
    postal_address = models.TextField(blank=True)
    jurisdiction = models.CharField(
        max_length=8, help_text="Whose emergency numbers and picking law are printed, e.g. GB-ENG"
    )
    zone = models.CharField(max_length=40, default="Europe/London")
    currency = models.CharField(max_length=3, default="GBP")
    bank_details = models.TextField(blank=True, help_text="Account name, sort code, number")
    account_name = models.CharField(max_length=70, blank=True, help_text="Whose account it is, as the bank writes it")
    iban = models.CharField(max_length=34, blank=True, help_text="International bank account number (ISO 13616)")
    bic = models.CharField(max_length=11, blank=True, help_text="Business identifier code of the bank (ISO 9362)")
    vat_number = models.CharField(max_length=20, blank=True, help_text="As on invoices; empty: not registered")
    is_demonstration = models.BooleanField(default=False)
    calendar_domain = models.CharField(max_length=80, help_text="Ends every calendar UID for ever")

    class Meta:
        constraints = [
            # One business a database: the whole product reads "the" business.
            models.CheckConstraint(condition=models.Q(only=1), name="one_business_a_database"),
        ]

    @property
    def clock(self) -> tzinfo:
        """The clock by which its days are counted; where its zone is known no more, UTC."""
        return clock_of(self.zone, timedelta(0))

    def __str__(self) -> str:
        return self.name
