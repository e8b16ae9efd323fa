"""The calendars that anybody may follow."""

from __future__ import annotations

import hashlib
from collections import Counter

from django.conf import settings
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.cache import get_conditional_response
from django.utils.http import quote_etag
from django.views.decorators.http import require_safe

from foraywright.floor.door import names_act
from foraywright.floor.models import Business
from walks.feeds.calendar import calendar
from walks.feeds.entries import feed_walks, public_entries, walks_of
from walks.models import Walk
from walks.queries import offering_by_slug, offering_slugs

PUBLIC = "public, max-age=300"


def calendar_answer(request: HttpRequest, content: bytes, *, cache: str) -> HttpResponseBase:
    """Answer with a calendar, or "not modified": the ETag is the hash of the bytes, so it never says so wrongly."""
    etag = quote_etag(hashlib.sha256(content).hexdigest())
    answer = HttpResponse(content, content_type="text/calendar; charset=utf-8")
    answer["ETag"] = etag
    answer["Cache-Control"] = cache
    return get_conditional_response(request, etag=etag, response=answer) or answer


@names_act("public.read")
@require_safe
def walks_feed(request: HttpRequest) -> HttpResponseBase:
    """Every published walk, and called-off ones for a while."""
    now = timezone.now()
    business = _business()
    walks = list(feed_walks(today=timezone.localdate(now)))
    sessions = Counter(Walk.objects.values_list("offering_id", flat=True))
    entry_of = public_entries(offering_slugs(), sessions, now=now)
    rendered = calendar(walks, entry_of, business, address=_feed_address())
    return calendar_answer(request, rendered.content, cache=PUBLIC)


@names_act("public.read")
@require_safe
def walk_ics(request: HttpRequest, slug: str) -> HttpResponseBase:
    """One walk, or all sessions of one course."""
    offering, present = offering_by_slug(slug)
    if offering is None:
        raise Http404
    if present != slug:
        return redirect("walk_ics", present, permanent=True)
    walks = list(walks_of(offering))
    entry_of = public_entries({offering.public_id: slug}, {offering.pk: len(walks)}, now=timezone.now())
    return calendar_answer(request, calendar(walks, entry_of, _business()).content, cache=PUBLIC)


@names_act("public.read")
@require_safe
def calendar_page(request: HttpRequest) -> HttpResponse:
    """How to follow the walks."""
    feed = _feed_address()
    return render(request, "walks/calendar.html", {"feed": feed, "webcal": f"webcal://{feed.partition('://')[2]}"})


def _feed_address() -> str:
    return f"{settings.SITE_ADDRESS}{reverse('walks_feed')}"


def _business() -> Business:
    business = Business.objects.first()
    if business is None:
        raise Http404
    return business
