"""What holds for every request: nothing in it that no text of ours can hold, and every view has an act."""

from __future__ import annotations

import logging
from collections.abc import Callable
from typing import Any

from django.conf import settings
from django.contrib import messages
from django.contrib.auth.views import redirect_to_login
from django.core.exceptions import BadRequest, PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.template.loader import render_to_string
from django.utils import timezone
from django.utils.cache import patch_cache_control

from foraywright.floor.compute.permissions import FOR_ANYBODY, may
from foraywright.floor.door import actor_of
from foraywright.floor.house_time import house_clock
from foraywright.floor.sealed import NotOpened
from foraywright.floor.second_factor import has_second_factor

logger = logging.getLogger(__name__)

# The library that signs staff in guards its own views.
GUARDED_BY_OTHERS = ("allauth.",)


NUL = "\x00"


class WithoutNulMiddleware:
    """Refuse the character NUL in an address or a form: PostgreSQL keeps no text with it, and no keyboard sends it."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)

    def process_view(self, request: HttpRequest, view: Any, args: Any, kwargs: Any) -> None:
        sent = (
            part for form in (request.GET, request.POST) for name, values in form.lists() for part in (name, *values)
        )
        if NUL in request.path_info or any(NUL in part for part in sent):
            raise BadRequest("A character that no text holds.")


class HouseTimeMiddleware:
    """Show instants, and count days, by the business's clock. One query."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        with timezone.override(house_clock()):
            return self.get_response(request)


class DoesNotOpenMiddleware:
    """Say in words that something sealed opens with no key: who needs it now must know whom to ask instead."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)

    def process_exception(self, request: HttpRequest, fault: Exception) -> HttpResponse | None:
        if not isinstance(fault, NotOpened):
            return None
        # Model, field and the row's public id: whoever looks after the keys must know which value it was.
        logger.error("%s", fault)
        answer = HttpResponse(render_to_string("does_not_open.html"), status=500)
        patch_cache_control(answer, no_store=True)
        return answer


class NamedActsMiddleware:
    """Ask `may` before a view runs; views that see one object ask again with the object in hand.

    What staff see no browser keeps: after signing out, "back" on the office's computer would show it to anybody.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        answer = self.get_response(request)
        act = request.resolver_match and getattr(request.resolver_match.func, "act", None)
        if act and act not in FOR_ANYBODY:
            answer.setdefault("Cache-Control", "no-store")
        return answer

    def process_view(self, request: HttpRequest, view: Any, args: Any, kwargs: Any) -> HttpResponse | None:
        if view.__module__.startswith(GUARDED_BY_OTHERS):
            return None
        act = getattr(view, "act", None)
        if act is None:
            raise PermissionDenied("This page names no act, so nobody may open it.")
        reasons = may(actor_of(request), act)
        if not reasons:
            return self.ask_for_second_factor(request, act)
        if not request.user.is_authenticated:
            return redirect_to_login(request.get_full_path())
        raise PermissionDenied("; ".join(reasons))

    def ask_for_second_factor(self, request: HttpRequest, act: str) -> HttpResponse | None:
        """Send staff without one to where it is set up, where the business demands one. One query, on staff's pages."""
        if not settings.SECOND_FACTOR_REQUIRED or not request.user.is_authenticated or act in FOR_ANYBODY:
            return None
        if has_second_factor(request.user):
            return None
        messages.info(request, "Staff sign in with a second factor here. Set yours up to go on.")
        return redirect("mfa_activate_totp")
