"""Payment references: ISO 11649 creditor references, "RF", two check digits (ISO/IEC 7064 MOD 97-10) and our code."""

from __future__ import annotations

import re

from stdnum import iso11649
from stdnum.iso7064 import mod_97_10

from foraywright.floor.compute.short_codes import read_short_code

LONGEST = 18
OURS = re.compile(r"(?=(RF[0-9]{2}([A-Z0-9]{7})))")


def creditor_reference(code: str) -> str:
    """Return the creditor reference for a booking's code, at most 18 characters, without spaces.

    Raises ValueError for a code that is empty, too long or not made of capital letters and digits.
    """
    if not code or len(code) > LONGEST - 4 or not code.isascii() or not code.isalnum() or code != code.upper():
        raise ValueError(f"{code!r} cannot be part of a creditor reference.")
    return f"RF{mod_97_10.calc_check_digits(f'{code}RF')}{code}"


def in_groups(reference: str) -> str:
    """Return the reference as it is printed, in groups of four."""
    return str(iso11649.format(reference))


def codes_in(text: str) -> tuple[str, ...]:
    """The booking codes whose creditor references stand in `text`, however they are spaced, cased or surrounded.

    Both check digits of the reference and the check character of the code must hold, so that a slip of the keyboard
    never finds somebody else's booking.
    """
    joined = re.sub(r"[^A-Z0-9]", "", text.upper())
    found = ((whole, code) for whole, code in OURS.findall(joined) if iso11649.is_valid(whole))
    return tuple(dict.fromkeys(code for _, code in found if read_short_code(code)))
