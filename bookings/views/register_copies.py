"""The register on a device without signal: the sealed copy, the page that opens it, and the ticks that come back.

The worker keeps the empty page, its script and its style, never a page of staff. What it shows comes from the device.
"""

from __future__ import annotations

import hashlib
import json
from dataclasses import asdict
from pathlib import Path
from uuid import UUID

from django.conf import settings
from django.contrib import messages
from django.contrib.staticfiles import finders
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase, JsonResponse, QueryDict
from django.middleware.csrf import get_token
from django.shortcuts import get_object_or_404, redirect, render
from django.templatetags.static import static
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from bookings.errors import NotTakenAlong
from bookings.models import RegisterCopy
from bookings.register_contents import contents
from bookings.register_posts import FIND, MARK, WALK_UP, read_posts, take_posts
from bookings.services.take_register import Device, revoke_register, take_register
from bookings.views.by_link import kept_from_others
from foraywright.floor.asking import Question, asks_once
from foraywright.floor.compute.permissions import Subject, may
from foraywright.floor.compute.plain_text import one_line
from foraywright.floor.door import actor_of, names_act, require
from foraywright.floor.ids import new_secret
from walks.views.documents import session_or_404, subject_of
from walks.views.guide import staff

FILES = (
    "css/almanac.css",
    "js/almanac.js",
    "js/register_limits.js",
    "js/register_store.js",
    "js/register_typed.js",
    "js/register_shell.js",
)
ACTS = {MARK: "walk.mark_attendance", WALK_UP: "walk_up.add", FIND: "finds.keep"}
"""What whoever sends a post must be allowed."""

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
        taken = take_register(walk, by=staff(request), now=timezone.now(), device=_device(request.POST))
    except NotTakenAlong as refused:
        return JsonResponse({"refused": refused.sentence}, status=422)
    answer = kept_from_others(JsonResponse(contents(walk, taken)))
    _give_half_of_the_key(answer, taken.copy)
    return answer


def _give_half_of_the_key(answer: HttpResponseBase, copy: RegisterCopy) -> None:
    """A cookie that the browser drops by itself when the copy's time is over; we keep nothing of it.

    The device's script reads it, so it is not HttpOnly; without the guide's code it opens nothing.
    """
    answer.set_cookie(
        f"register-{copy.public_id}",
        new_secret(),
        max_age=copy.kept_until - copy.taken_at,
        secure=settings.SESSION_COOKIE_SECURE,
        samesite="Strict",
    )


def _device(sent: QueryDict) -> Device:
    """What the device says of itself; nothing is taken for granted of it, and it is no permission."""
    try:
        key = UUID(sent.get("device", ""))
    except ValueError:
        key = None
    return Device(key, one_line(sent.get("device_name", ""))[:40])


@names_act("walk.mark_attendance")
@require_http_methods(["GET", "HEAD", "POST"])
def staff_copy_ticks(request: HttpRequest, public_id: str, number: int, copy: str) -> HttpResponseBase:
    """GET: whether the copy still stands, and a token to send with. POST: take what was done on it, each thing once.

    Whoever took it along sends from it, also after another guide took their place: it was theirs to do until then. The
    device deletes it ("over") once it hears of that. Nobody else does: what one saw would stand over another's name.
    """
    walk, now = session_or_404(public_id, number), timezone.now()
    found = RegisterCopy.objects.select_related("taken_by").filter(walk=walk, public_id=copy).first()
    if found is None or found.taken_by != request.user:
        require(request, "walk.mark_attendance", subject_of(walk))
    if found is None:
        raise Http404("There is no such copy of the register.")
    if found.revoked_at is not None:
        return JsonResponse({"revoked": True}, status=410)
    if found.taken_by != request.user:
        whose = f"{found.taken_by} entered these, and sends them: sign in as {found.taken_by}. They stay here."
        return kept_from_others(JsonResponse({"refused": whose}, status=403))
    actor = actor_of(request)
    if request.method != "POST":
        over = bool(may(actor, "walk.mark_attendance", subject_of(walk)))
        return kept_from_others(JsonResponse({"token": get_token(request), "over": over}))
    try:
        posts = read_posts(request.body, now=now)
    except ValueError:
        return JsonResponse({"refused": "This cannot be read. Nothing was taken; it stays here."}, status=422)
    theirs = Subject(subject_of(walk).guides | ({actor.guide} if actor.guide else set()))
    for kind in {one.kind for one in posts}:
        require(request, ACTS[kind], theirs)
    found.walk = walk
    return JsonResponse(asdict(take_posts(posts, found, by=staff(request), now=now)))


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
