"""What a file is by its first bytes, whatever its name says.

Signatures: PDF "%PDF-" (ISO 32000-1, 7.5.2, and the "%%EOF" of 7.5.5), PNG (W3C Portable Network Graphics, 5.2), JPEG
start of image FF D8 and a marker (ITU-T T.81, annex B); written from memory. A signature says what a file claims to
be, never that it is harmless.
"""

from typing import Literal

Kind = Literal["pdf", "jpg", "png"]
SIGNATURES: tuple[tuple[Kind, bytes], ...] = (
    ("pdf", b"%PDF-"),
    ("png", b"\x89PNG\r\n\x1a\n"),
    ("jpg", b"\xff\xd8\xff"),
)
TAIL = 1024
"""Bytes at the end of a PDF among which its end-of-file mark stands."""


def kind_of(content: bytes) -> Kind | None:
    """The kind of `content`, None where it is none of those that we keep or a PDF that breaks off."""
    kind = next((kind for kind, signature in SIGNATURES if content.startswith(signature)), None)
    if kind == "pdf" and b"%%EOF" not in content[-TAIL:]:
        return None
    return kind
