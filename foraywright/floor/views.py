"""What belongs to no room."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_safe

from foraywright.floor.door import names_act

ROBOTS = "User-agent: *\nDisallow: /staff/\nDisallow: /booking/\nDisallow: /accounts/\n"


@names_act("public.read")
@require_safe
def robots(request: HttpRequest) -> HttpResponse:
    """Ask crawlers to leave people's bookings and the staff's pages alone."""
    return HttpResponse(ROBOTS, content_type="text/plain; charset=utf-8")
