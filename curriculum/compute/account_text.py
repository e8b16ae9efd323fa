"""An account as a readable TOML text, which the reader of account files takes back to an equal account."""

from __future__ import annotations

import tomli_w

from curriculum.compute.account import Account
from curriculum.compute.canonical import as_dict


def account_text(account: Account) -> str:
    """Return the account in the shape of the files in curriculum/starter/, lists of one entry a line."""
    return tomli_w.dumps(as_dict(account), multiline_strings=False)
