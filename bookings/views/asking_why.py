"""Pages of the office that ask once, with a form for the reason and whatever else the act needs to know."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from foraywright.floor.asking import Question, moved
from walks.form_base import HelpedForm
from walks.views.sites import done


def ask_with_a_form(
    request: HttpRequest, question: Question, form: HelpedForm, carry_out: Callable[[dict[str, Any]], str]
) -> HttpResponse:
    """Ask with `form`; carry it out with what was told once exactly this was seen, and say what it returns."""
    changed = moved(request, question.mark)
    if not changed and done(request, form, lambda: carry_out(form.cleaned_data)):
        return redirect(question.back)
    status = 409 if changed else 422 if form.errors else 200
    context = {"form": form, "question": question, "changed": changed}
    return render(request, "asked.html", context, status=status)
