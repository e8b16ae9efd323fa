"""Text that people type, made safe for places with line structure (mail headers, calendar lines)."""

import unicodedata

_BIDI_AND_LINE_MARKS = set("\u2028\u2029\u0085\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069\u200e\u200f")


def one_line(text: str) -> str:
    """Return `text` on one line, without control characters or marks that turn the reading direction."""
    return " ".join(several_lines(text).split())


def several_lines(text: str) -> str:
    """Return `text` with its line feeds, without other control characters or direction marks."""
    kept = (c for c in text if c == "\n" or (unicodedata.category(c) != "Cc" and c not in _BIDI_AND_LINE_MARKS))
    return "".join(kept)
