"""Asking once before a button does what cannot be undone."""

from __future__ import annotations

from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.crypto import constant_time_compare, salted_hmac

LOOK_AGAIN = "What it would do has changed since you were asked. Nothing was done."
OURS = frozenset({"csrfmiddlewaretoken", "seen"})


@dataclass(frozen=True, slots=True)
class Question:
    """`will`: everything that will happen, with its numbers; `button`: what it does; `back`: the address of "no"."""

    title: str
    will: str
    button: str
    back: str

    @property
    def mark(self) -> str:
        """Says which question was answered: another number in `will` is another question."""
        return salted_hmac("foraywright.asking", f"{self.title}\n{self.will}").hexdigest()


def asks_once(request: HttpRequest, question: Question) -> HttpResponse | None:
    """Return the page that asks, or None where the person has said yes to exactly this.

    What the button sent along is sent again with the answer. Ask after the door, never before it.
    """
    seen = request.POST.get("seen", "")
    if constant_time_compare(seen, question.mark):
        return None
    kept = [(name, value) for name, values in request.POST.lists() if name not in OURS for value in values]
    context = {"question": question, "kept": kept, "changed": LOOK_AGAIN if seen else ""}
    return render(request, "asked.html", context, status=409 if seen else 200)
