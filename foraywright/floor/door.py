"""The door: a view names its act, and what `may` says is what happens."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponseBase
from django.urls import resolve

from foraywright.floor.compute.permissions import ACTS, Actor, Subject, may

View = TypeVar("View", bound=Callable[..., HttpResponseBase])


def names_act(act: str) -> Callable[[View], View]:
    """Say which act a view performs. A view without one is refused by NamedActsMiddleware."""
    if act not in ACTS:
        raise ValueError(f"No rule for the act {act!r}: name it in foraywright/floor/compute/permissions.py.")

    def mark(view: View) -> View:
        view.act = act  # type: ignore[attr-defined]
        return view

    return mark


def actor_of(request: HttpRequest) -> Actor:
    """Return who is at the door; the roles and the guide cost two queries a request for staff, none for the public."""
    known: Actor | None = getattr(request, "_actor", None)
    if known is None:
        known = _read_actor(request)
        request._actor = known  # type: ignore[attr-defined]
    return known


def _read_actor(request: HttpRequest) -> Actor:
    user = request.user
    if not user.is_authenticated:
        return Actor()
    guide = getattr(user, "guide", None)
    roles = frozenset(user.groups.values_list("name", flat=True))
    return Actor(signed_in=True, roles=roles, guide=guide.public_id if guide else None)


def may_open(request: HttpRequest, address: str) -> bool:
    """Whether the door at `address` opens for this actor, as far as the role decides: a dead link is no help."""
    return not may(actor_of(request), resolve(address).func.act)  # type: ignore[attr-defined]


def require(request: HttpRequest, act: str, subject: Subject) -> None:
    """Raise PermissionDenied with the reasons where the actor may not do `act` on `subject`."""
    reasons = may(actor_of(request), act, subject)
    if reasons:
        raise PermissionDenied("; ".join(reasons))
