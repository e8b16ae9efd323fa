"""What every PDF is set with: its style sheet and fonts, as one hash."""

import hashlib
from functools import lru_cache
from pathlib import Path

STATIC = Path(__file__).resolve().parent.parent / "static"


@lru_cache(maxsize=1)
def assets_hash() -> str:
    """SHA-256 over the print style sheet and the fonts; they change only with the program."""
    whole = hashlib.sha256()
    for file in [STATIC / "css" / "print.css", *sorted((STATIC / "fonts").glob("*.woff2"))]:
        whole.update(file.read_bytes())
    return whole.hexdigest()
