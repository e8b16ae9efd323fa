"""HTML of printed documents: what people typed can neither turn the reading direction nor stall the layout."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Mapping
from typing import Any

from django.template.loader import render_to_string

from foraywright.floor.compute.plain_text import several_lines

VERSION_LETTERS = 10
TEXT = re.compile(r"(?<=>)[^<]+")
LONG_WORD = re.compile(r"[^\s&;]{60}")


def render_document(template: str, context: Mapping[str, Any]) -> str:
    """The HTML of a printed document; its version is the start of the hash of everything else in it.

    Marks that turn the reading direction are taken out of what people typed: they could reverse a warning.
    """
    draft = render_to_string(template, {**context, "version": VERSION_MARK})
    version = hashlib.sha256(draft.encode("utf-8")).hexdigest()[:VERSION_LETTERS]
    return _breakable(several_lines(draft.replace(VERSION_MARK, version)))


VERSION_MARK = "\x02version\x02"
"""Stands where the version will: a control character that no text keeps, so that the page is rendered but once."""


def _breakable(html: str) -> str:
    """Let a word of more than 60 letters break: laying out one of thousands takes minutes."""
    return TEXT.sub(lambda text: LONG_WORD.sub(lambda word: f"{word[0]}\u200b", text[0]), html)
