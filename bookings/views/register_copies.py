"""The register on a device without signal: the sealed copy, the page that opens it, and the ticks that come back.

The worker keeps the empty page, its script and its style, never a page of staff. What it shows comes from the device.
"""

from __future__ import annotations

import hashlib
import json
from datetime import datetime
from pathlib import Path
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.contrib.staticfiles import finders
from django.http import HttpRequest, HttpResponse, HttpResponseBase, JsonResponse
from django.middleware.csrf import get_token
from django.shortcuts import get_object_or_404, redirect, render
from django.templatetags.static import static
from django.urls import reverse
from django.utils import timezone
from django.utils.dateparse import parse_datetime
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from bookings.errors import NotMarked, NotTakenAlong
from bookings.models import Declaration, RegisterCopy
from bookings.register import DayRegister, OnTheDay
from bookings.services.mark_attendance import Tick, mark_attendance
from bookings.services.take_register import TakenAlong, revoke_register, take_register
from bookings.views.by_link import kept_from_others
from foraywright.floor.asking import Question, asks_once
from foraywright.floor.door import names_act, require
from walks.compute.ratios import RatioStatement
from walks.models import Walk
from walks.views.documents import session_or_404, subject_of
from walks.views.guide import staff

FILES = ("css/almanac.css", "js/almanac.js", "js/register_store.js", "js/register_shell.js")
MARK = "mark"

CALLING_BACK = (
    "No ticks are taken from that device any more, and it deletes the register when it next reaches us. "
    "Ticks that are only on it are lost."
)


@names_act("declaration.see")
@require_POST
def staff_register_copy(request: HttpRequest, public_id: str, number: int) -> HttpResponseBase:
    """The register as data for this device, which seals it. A look at each emergency contact is written down."""
    walk = session_or_404(public_id, number)
    require(request, "declaration.see", subject_of(walk))
    try:
        taken = take_register(walk, by=staff(request), now=timezone.now())
    except NotTakenAlong as refused:
        return JsonResponse({"refused": refused.sentence}, status=422)
    return kept_from_others(JsonResponse(_copy(walk, taken)))


def _copy(walk: Walk, taken: TakenAlong) -> dict[str, Any]:
    address = reverse("staff_copy_ticks", args=[walk.offering.public_id, walk.number, taken.copy.public_id])
    return {
        "copy": taken.copy.public_id,
        "ticks": address,
        "kept_until": taken.copy.kept_until.isoformat(),
        "title": f"{walk.offering.title}, {walk.local_start:%-d %B, %H:%M}",
        "sealed": {
            "as_of": taken.copy.taken_at.isoformat(),
            "staff": taken.register.staff,
            "people": [_person(one, taken.declared.get(one.person.pk)) for one in taken.register.people],
            "limits": _limits(taken.register),
        },
    }


def _person(one: OnTheDay, declared: Declaration | None) -> dict[str, Any]:
    return {
        "id": one.person.public_id,
        "name": one.attendee.name,
        "band": one.person.band if one.is_child else "",
        "in_charge": one.guardian.name if one.guardian else "",
        "guardian": one.guardian.place.person.public_id if one.guardian else "",
        "standing": one.attendee.standing,
        "ring": declared
        and {
            "name": declared.emergency_name,
            "phone": declared.emergency_phone,
            "relation": declared.emergency_relation,
        },
    }


def _limits(register: DayRegister) -> dict[str, Any]:
    lost = register.expected.one_guide_missing
    return {
        "expected": _words(register.expected),
        "lost": {"guide": lost.guide, **_words(lost.statement)} if lost else None,
    }


def _words(statement: RatioStatement) -> dict[str, list[str]]:
    return {"refusals": list(statement.refusals), "lines": [one.sentence for one in statement.lines]}


@names_act("walk.mark_attendance")
@require_http_methods(["GET", "HEAD", "POST"])
def staff_copy_ticks(request: HttpRequest, public_id: str, number: int, copy: str) -> HttpResponseBase:
    """GET: whether the copy still stands, and a token to send with. POST: take its ticks, each once."""
    walk, now = session_or_404(public_id, number), timezone.now()
    require(request, "walk.mark_attendance", subject_of(walk))
    found = get_object_or_404(RegisterCopy, walk=walk, public_id=copy)
    if found.revoked_at is not None:
        return JsonResponse({"revoked": True}, status=410)
    if request.method != "POST":
        return kept_from_others(JsonResponse({"token": get_token(request)}))
    try:
        sent = [one for one in json.loads(request.body)["ticks"] if one["kind"] == MARK]
        ticks = [_tick(one) for one in sent]
    except (ValueError, KeyError, TypeError, AttributeError):
        return JsonResponse({"refused": "These ticks cannot be read. Nothing was marked; they stay here."}, status=422)
    return _taken(request, walk, ticks, now=now)


def _tick(sent: dict[str, str]) -> Tick:
    """A tick of a device: it never settles, since the marks of others were not in sight. ValueError if unreadable."""
    seen = parse_datetime(sent["at"])
    if seen is None or seen.tzinfo is None:
        raise ValueError("A tick needs the time of its device, with its zone.")
    return Tick(UUID(sent["uuid"]), sent["person"], sent["state"], seen)


def _taken(request: HttpRequest, walk: Walk, ticks: list[Tick], *, now: datetime) -> HttpResponse:
    try:
        strangers = set(mark_attendance(walk, ticks, by=staff(request), now=now))
    except NotMarked as refused:
        return JsonResponse({"refused": refused.sentence}, status=422)
    taken = [str(one.event) for one in ticks if one.person not in strangers]
    return JsonResponse({"taken": taken, "without_place": [str(one.event) for one in ticks if one.person in strangers]})


@names_act("walk.mark_attendance")
@require_POST
def staff_revoke_copy(request: HttpRequest, public_id: str, number: int, copy: str) -> HttpResponse:
    """Call back the copy on a lost device."""
    walk = session_or_404(public_id, number)
    require(request, "walk.mark_attendance", subject_of(walk))
    found = get_object_or_404(RegisterCopy, walk=walk, public_id=copy)
    back = reverse("staff_day_register", args=[public_id, number])
    if page := asks_once(request, Question("Call this copy back?", CALLING_BACK, "Call it back", back)):
        return page
    revoke_register(found, by=staff(request), now=timezone.now())
    messages.success(request, "Revoked. Ticks that were only on that device are lost: count the heads again.")
    return redirect("staff_day_register", public_id, number)


@names_act("public.read")
@require_safe
def register_shell(request: HttpRequest) -> HttpResponse:
    """The empty page: it holds nobody’s data and asks nothing of us; what it shows lies sealed on the device."""
    return render(request, "bookings/register_shell.html")


@names_act("public.read")
@require_safe
def register_worker(request: HttpRequest) -> HttpResponse:
    """The script that keeps the empty page for the wood. Its stamp follows from the files and the page it keeps."""
    page = render(request, "bookings/register_shell.html").content
    kept = [reverse("register_shell"), *(static(one) for one in FILES)]
    context = {"kept": json.dumps(kept), "stamp": _stamp(page)}
    worker = render(request, "bookings/register_worker.js", context, content_type="text/javascript")
    worker["Cache-Control"] = "no-cache"
    return worker


def _stamp(page: bytes) -> str:
    found = [finders.find(one) for one in FILES]
    content = b"".join(Path(str(one)).read_bytes() for one in found)
    return hashlib.sha256(page + content).hexdigest()[:16]
