"""Pages of the office: the letters that were meant, how they stand, what each said, and those that need a person."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django.contrib import messages
from django.db.models import Count
from django.db.models.functions import Coalesce
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from bookings.errors import LetterNotSettled
from bookings.models import OutboxMessage
from bookings.outbox_states import STATES, in_words, state_of
from bookings.services.settle_message import handle_otherwise, retry_message
from foraywright.floor.door import names_act
from foraywright.floor.sorted_list import Column, sorted_list
from foraywright.floor.telling import telling
from walks.views.guide import staff

ABOUT = ("booking__offering", "quote__offering", "quote__enquiry")
COLUMNS = (
    Column("Letter", ("kind", "written_at")),
    Column("Booking"),
    Column("Walk", ("walk_title", "written_at")),
    Column("Written", ("written_at",)),
    Column("State"),
)


@names_act("booking.see")
@require_safe
def staff_outbox(request: HttpRequest) -> HttpResponse:
    """All letters, newest first; `state` and `kind` narrow them. Four queries."""
    state, kind = request.GET.get("state", ""), request.GET.get("kind", "")
    title = Coalesce("booking__offering__title", "quote__offering__title")
    found = OutboxMessage.objects.select_related(*ABOUT, "paper").annotate(walk_title=title)
    if state in STATES:
        found = found.filter(STATES[state][1])
    if kind in OutboxMessage.Kind.values:
        found = found.filter(kind=kind)
    letters = sorted_list(request, found, COLUMNS, first="-written")
    context = {
        "page": letters.page,
        "heads": letters.heads,
        "rows": _rows(letters.page),
        "states": _counted(),
        "state": state,
        "kind": kind,
    }
    return render(request, "bookings/staff_outbox.html", context | {"kinds": OutboxMessage.Kind.choices})


def _rows(page: Iterable[OutboxMessage]) -> list[dict[str, Any]]:
    return [{"message": one, "state": state_of(one), "words": in_words(one)} for one in page]


def _counted() -> list[tuple[str, str, int]]:
    """Each state with its words and how many letters are in it. One query."""
    each = {f"in_{key}": Count("pk", filter=rule) for key, (_, rule) in STATES.items()}
    counts = OutboxMessage.objects.aggregate(**each)
    return [(key, words, counts[f"in_{key}"]) for key, (words, _) in STATES.items()]


@names_act("booking.see")
@require_safe
def staff_message(request: HttpRequest, public_id: str) -> HttpResponse:
    """One letter: how it stands, what was sent, and what a person can do where it failed."""
    message = get_object_or_404(OutboxMessage.objects.select_related(*ABOUT, "contact", "paper"), public_id=public_id)
    context = {"message": message, "state": state_of(message), "words": in_words(message), "typed": ""}
    return render(request, "bookings/staff_message.html", context)


@names_act("letter.settle")
@require_POST
def staff_message_retry(request: HttpRequest, public_id: str) -> HttpResponse:
    """Send the letter again."""
    message = get_object_or_404(OutboxMessage, public_id=public_id)
    with telling(request, "The letter goes out again within a minute."):
        retry_message(message, by=staff(request), now=timezone.now())
    return redirect("staff_message", public_id)


@names_act("letter.settle")
@require_POST
def staff_message_handle(request: HttpRequest, public_id: str) -> HttpResponse:
    """Note what was done instead of the letter."""
    message = get_object_or_404(OutboxMessage.objects.select_related(*ABOUT, "contact"), public_id=public_id)
    how = request.POST.get("how", "")
    try:
        handle_otherwise(message, how=how, by=staff(request), now=timezone.now())
    except LetterNotSettled as refused:
        messages.error(request, refused.sentence)
        context = {"message": message, "state": state_of(message), "words": in_words(message), "typed": how}
        return render(request, "bookings/staff_message.html", context, status=422)
    messages.success(request, "Noted. The letter waits for nobody any more.")
    return redirect("staff_message", public_id)
