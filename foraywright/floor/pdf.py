"""HTML to PDF in a child process that can be killed: layout of hostile text can run for ever or eat all memory."""

from __future__ import annotations

import os
import subprocess
import sys
from dataclasses import dataclass

SECONDS = 60
# Font subsetting stamps the clock and follows set order; both are fixed so that the same document gives the same bytes.
FIXED = {"PYTHONHASHSEED": "0", "SOURCE_DATE_EPOCH": "1767225600"}


class PdfFailed(Exception):
    """The child died, ran out of time or memory, or asked for a file that it may not have."""


@dataclass(frozen=True, slots=True)
class Pdf:
    """A finished file."""

    content: bytes
    pages: int


def render_pdf(html: str, *, identifier: str, seconds: int = SECONDS) -> Pdf:
    """Return `html` (from a template, autoescaped) as a tagged PDF/UA-1 with embedded fonts.

    `identifier` makes the file reproducible: same HTML and identifier, same bytes. Addresses in the HTML may only be
    `asset:` paths below foraywright/static. Raises PdfFailed.
    """
    command = [sys.executable, "-m", "foraywright.floor.pdf_child", identifier, str(seconds)]
    try:
        child = subprocess.run(
            command,
            input=html.encode("utf-8"),
            capture_output=True,
            timeout=seconds,
            check=False,
            env={**os.environ, **FIXED},
        )
    except subprocess.TimeoutExpired as slow:
        raise PdfFailed(f"The PDF took longer than {seconds} seconds and was given up.") from slow
    if child.returncode != 0:
        raise PdfFailed((child.stderr.decode("utf-8", "replace").strip().splitlines() or ["The PDF maker died."])[-1])
    pages, _, content = child.stdout.partition(b"\n")
    return Pdf(content=content, pages=int(pages))
