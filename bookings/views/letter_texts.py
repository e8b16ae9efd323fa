"""Pages of the office: the words of letters, with a look at the letter before anybody gets it."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from bookings.compute.letter_words import Words, in_html
from bookings.errors import LetterTextNotKept
from bookings.letter_sample import sample_context
from bookings.letter_texts import EXPLAINED, IN_SUBJECTS, newest_texts, placeholders_of, values_of, words_in_use
from bookings.letters import composed
from bookings.models import OutboxMessage
from bookings.services.save_letter_text import reasons_in, save_letter_text
from foraywright.floor.door import names_act
from foraywright.floor.models import Business
from walks.views.guide import staff


@names_act("letter.edit")
@require_safe
def staff_letter_texts(request: HttpRequest) -> HttpResponse:
    """Every kind of letter, and whose words it goes out in. One query."""
    newest = newest_texts()
    rows = [{"kind": key, "title": title, "text": newest.get(key)} for key, title in OutboxMessage.Kind.choices]
    return render(request, "bookings/staff_letter_texts.html", {"rows": rows})


@names_act("letter.edit")
@require_http_methods(["GET", "HEAD", "POST"])
def staff_letter_text(request: HttpRequest, kind: str) -> HttpResponse:
    """Write the words of a kind anew: look first, then keep. What was typed stays in the form."""
    _refuse_unknown(kind)
    now = timezone.now()
    words = words_in_use(kind)
    if request.method == "POST":
        words = Words(request.POST.get("subject", ""), request.POST.get("body", "").replace("\r\n", "\n"))
        if "keep" in request.POST:
            try:
                save_letter_text(kind, words, by=staff(request), now=now)
            except LetterTextNotKept:
                pass  # the reasons stand on the page, above what was typed
            else:
                messages.success(request, "Kept. Letters of this kind go out in these words from now on.")
                return redirect("staff_letter_text", kind)
    context = _page(kind, words, now=now)
    return render(request, "bookings/staff_letter_text.html", context, status=422 if context["reasons"] else 200)


@names_act("letter.edit")
@require_POST
def staff_letter_text_ours(request: HttpRequest, kind: str) -> HttpResponse:
    """Go back to the words that come with the product; the versions written here stay in the record."""
    _refuse_unknown(kind)
    save_letter_text(kind, None, by=staff(request), now=timezone.now())
    messages.success(request, "Letters of this kind go out in our first words again.")
    return redirect("staff_letter_text", kind)


def _refuse_unknown(kind: str) -> None:
    if kind not in OutboxMessage.Kind.values:
        raise Http404


def _page(kind: str, words: Words, *, now: datetime) -> dict[str, Any]:
    reasons = reasons_in(kind, words)
    text = newest_texts().get(kind)
    context = {
        "kind": kind,
        "title": OutboxMessage.Kind(kind).label,
        "words": words,
        "reasons": reasons,
        "text": text,
        "is_ours": text is None or not text.body,
        "in_subject": [(name, EXPLAINED[name]) for name in IN_SUBJECTS],
        "in_body": [(name, EXPLAINED[name]) for name in placeholders_of(kind)],
    }
    return context if reasons else context | _seen(kind, words, now=now)


def _seen(kind: str, words: Words, *, now: datetime) -> dict[str, Any]:
    sample = sample_context(Business.objects.get(), now=now)
    subject, text, _ = composed(kind, sample, words)
    return {"subject": subject, "text_form": text, "html_words": in_html(words, values_of(kind, sample))}
