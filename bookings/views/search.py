"""The search of the staff's pages. What is typed may be somebody's name: it is sent, never part of an address."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods

from bookings.search import search
from foraywright.floor.compute.typed_numbers import whole_number
from foraywright.floor.door import actor_of, names_act

LONGEST = 80
LAST_PAGE = 500


@names_act("staff.front_page")
@sensitive_post_parameters("sought")
@require_http_methods(["GET", "HEAD", "POST"])
def staff_search(request: HttpRequest) -> HttpResponse:
    """What was sought, kind by kind; nothing of it is kept anywhere."""
    sought = request.POST.get("sought", "").strip()[:LONGEST]
    page = min(whole_number(request.POST.get("page", "")) or 1, LAST_PAGE)
    groups = search(actor_of(request), sought, page=page) if sought else []
    context = {"sought": sought, "groups": groups, "number": page, "more": any(one.more for one in groups)}
    answer = render(request, "bookings/staff_search.html", context)
    answer["Cache-Control"] = "no-store"
    return answer
