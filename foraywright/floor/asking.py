"""Asking once before a button does what cannot be undone.

Where others can change in between what will happen, the act takes `seen=` and compares under its lock (`as_seen`). The
view passes on the mark of what it found, which is what the person saw; `asks_anew` asks again where the act says no.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import wraps
from typing import Concatenate, ParamSpec

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.crypto import constant_time_compare

from foraywright.floor.refusals import SeenOtherwise, mark_of

P = ParamSpec("P")
View = Callable[Concatenate[HttpRequest, P], HttpResponse]

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
        return mark_of(self.title, self.will)


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


def moved(request: HttpRequest, mark: str) -> str:
    """What to say where a page's own form was sent for something else than `mark`, else nothing."""
    sent = request.method == "POST" and not constant_time_compare(request.POST.get("seen", ""), mark)
    return LOOK_AGAIN if sent else ""


def asks_anew(view: View[P]) -> View[P]:
    """Run the view again where its act found something else than was seen: it then shows what holds now, and asks."""

    @wraps(view)
    def looked_again(request: HttpRequest, /, *args: P.args, **kwargs: P.kwargs) -> HttpResponse:
        try:
            return view(request, *args, **kwargs)
        except SeenOtherwise:
            return view(request, *args, **kwargs)

    return looked_again
