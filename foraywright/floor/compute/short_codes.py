"""Short codes that can be spoken on the telephone, with a check character (ISO/IEC 7064 hybrid system, MOD 29,28)."""

from __future__ import annotations

import secrets

from stdnum.iso7064 import mod_37_36

# No 0 O 1 I L-like pairs, no B/8 or S/5 confusion by ear: 28 characters, and 29 is prime as the hybrid system wants.
ALPHABET = "2345679ACDEFGHJKLMNPQRTUVWXY"
LENGTH = 6


def new_short_code() -> str:
    """Return a random code of six characters and its check character, e.g. "K7M4QXR" (28^6, about 480 million)."""
    body = "".join(secrets.choice(ALPHABET) for _ in range(LENGTH))
    return body + mod_37_36.calc_check_digit(body, ALPHABET)


def read_short_code(text: str) -> str | None:
    """Return the code meant by `text` (spaces, hyphens and case do not matter), or None where a character is wrong."""
    code = "".join(c for c in text.upper() if c not in " -")
    if len(code) != LENGTH + 1 or set(code) - set(ALPHABET):
        return None
    return code if mod_37_36.calc_check_digit(code[:-1], ALPHABET) == code[-1] else None


def spoken(code: str) -> str:
    """Return the code in groups: "K7M 4QX R"."""
    return f"{code[:3]} {code[3:6]} {code[6:]}"
