"""The folded words by which the office finds people: each with a space before it, so that beginnings of words match."""

from __future__ import annotations

from foraywright.floor.compute.folding import folded


def contact_words(name: str, email: str, phone: str) -> str:
    """Name and e-mail address, folded, and the digits of the telephone; empty where everything was erased."""
    return "".join(f" {word}" for word in (folded(name), folded(email), digits_of(phone)) if word)


def person_words(name: str) -> str:
    """The name, folded; empty where there is none."""
    return f" {folded(name)}" if name else ""


def digits_of(text: str) -> str:
    """The digits of a telephone number, however it is grouped."""
    return "".join(one for one in text if one.isdigit())


def is_number(text: str) -> bool:
    """Whether somebody typed a telephone number, or part of one."""
    return bool(text) and not set(text) - set("0123456789 +()-./")
