"""The folded words by which the office finds people: each with a space before it, so that beginnings of words match."""

from __future__ import annotations

import re

from foraywright.floor.compute.folding import folded

STROKES = str.maketrans(
    {"ł": "l", "ø": "o", "đ": "d", "ð": "d", "ħ": "h", "ŧ": "t", "\u0131": "i", "æ": "ae", "œ": "oe", "þ": "th"}
)
"""Letters that no decomposition takes a stroke off, as who reads a name aloud would type them."""
APOSTROPHES = re.compile("['\u2019\u02bc`\u00b4]")
BETWEEN_WORDS = re.compile(r"[^\w@.]+")
ENOUGH_OF_A_NUMBER = 8
"""Digits of a telephone number that are compared: what stands before them differs with and without the country."""


def contact_words(name: str, email: str, phone: str) -> str:
    """Words of the name, the e-mail address folded, and the digits of the telephone; empty where all was erased."""
    return "".join(f" {word}" for word in (*_spelled(name), folded(email), digits_of(phone)) if word)


def person_words(name: str) -> str:
    """Words of the name; empty where there is none."""
    return "".join(f" {word}" for word in _spelled(name))


def name_words(typed: str) -> list[str]:
    """The words of a name, plain: "O’Ångström-Łuk" gives o, angstrom, luk."""
    return BETWEEN_WORDS.sub(" ", folded(APOSTROPHES.sub(" ", typed)).translate(STROKES)).split()


def _spelled(name: str) -> list[str]:
    """The words of a name, and those of it without its apostrophes: O’Brien is typed OBrien too."""
    return list(dict.fromkeys((*name_words(name), *name_words(APOSTROPHES.sub("", name)))))


def number_typed(text: str) -> str:
    """The digits to look for of a number that was typed, with its country or without."""
    return digits_of(text)[-ENOUGH_OF_A_NUMBER:]


def digits_of(text: str) -> str:
    """The digits of a telephone number, however it is grouped."""
    return "".join(one for one in text if one.isdigit())


def is_number(text: str) -> bool:
    """Whether somebody typed a telephone number, or part of one."""
    return bool(text) and not set(text) - set("0123456789 +()-./")
