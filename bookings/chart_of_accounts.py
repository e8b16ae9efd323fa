"""The ledger's accounts, which exist from the first migration on."""

from typing import Any

ACCOUNTS = {
    "receivable": "Owed by those who booked",
    "bank": "Bank",
    "cash": "Cash and card at the meeting point",
    "card": "Paid by card, with the provider",
    "deferred_income": "Walks sold and not yet held",
    "income": "Walks held",
    "vat": "Value added tax owed",
    "refunds_due": "Refunds promised and not yet paid",
    "awaiting_choice": "Of walks called off: refund or another walk, not yet chosen",
    "vouchers_out": "Vouchers sold and not yet used",
    "voucher_tax": "Tax on vouchers, owed since they were sold",
    "unmatched": "Money that waits for a person",
    "written_off": "Written off: money that is nobody's",
    "charged_back": "Taken back by card holders, waits for a person",
    "bad_debts": "Written off: debts that were let go",
    "provider_fees": "Fees of the card provider",
}


def ensure_accounts(**_: Any) -> None:
    """Create the ledger accounts that are missing, and give each its title; runs after every migrate."""
    from bookings.models import LedgerAccount

    for key, title in ACCOUNTS.items():
        LedgerAccount.objects.update_or_create(key=key, defaults={"title": title})
