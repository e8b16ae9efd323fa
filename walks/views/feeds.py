"""The calendars that anybody may follow, and each guide's own behind a link."""

from __future__ import annotations

import hashlib
from collections.abc import Callable

from django.conf import settings
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.cache import get_conditional_response
from django.utils.http import quote_etag
from django.views.decorators.http import require_POST, require_safe

from foraywright.floor.asking import Question, asks_once
from foraywright.floor.compute.permissions import Subject
from foraywright.floor.door import names_act, require
from foraywright.floor.links import follow_link
from foraywright.floor.models import Business, LinkSecret
from walks.feeds.calendar import calendar
from walks.feeds.entries import public_entries, published_walks, walks_of
from walks.feeds.following import WalksFeed, all_walks, at_site, led_by, on_theme, species_tag
from walks.feeds.species import species_calendar
from walks.models import Guide, Site, Theme
from walks.queries import offering_by_slug
from walks.services.new_guide_feed import new_guide_feed
from walks.views.guide import staff

PUBLIC = "public, max-age=300"
PRIVATE = "private, no-cache"


def calendar_answer(request: HttpRequest, content: bytes, *, cache: str) -> HttpResponseBase:
    """Answer with a calendar, or "not modified": the ETag is the hash of the bytes, so it never says so wrongly."""
    return _tagged(request, hashlib.sha256(content).hexdigest(), lambda: content, cache=cache)


def _tagged(request: HttpRequest, tag: str, build: Callable[[], bytes], *, cache: str) -> HttpResponseBase:
    """Answer "not modified" where the reader has what `tag` names, without building it; else build it."""
    etag = quote_etag(tag)
    unchanged = get_conditional_response(request, etag=etag)
    answer = unchanged or HttpResponse(build(), content_type="text/calendar; charset=utf-8")
    answer["ETag"] = etag
    answer["Cache-Control"] = cache
    return answer


def _answer(request: HttpRequest, feed: WalksFeed, business: Business, *, cache: str = PUBLIC) -> HttpResponseBase:
    now = timezone.now()
    today = timezone.localdate(now)
    address = f"{settings.SITE_ADDRESS}{request.path}"
    tag = feed.tag(now=now, today=today)
    return _tagged(request, tag, lambda: feed.content(business, address=address, now=now, today=today), cache=cache)


@names_act("public.read")
@require_safe
def walks_feed(request: HttpRequest) -> HttpResponseBase:
    """Every published walk, and called-off ones for a while."""
    business = _business()
    return _answer(request, all_walks(business), business)


@names_act("public.read")
@require_safe
def site_feed(request: HttpRequest, public_id: str) -> HttpResponseBase:
    """The walks at one site."""
    business = _business()
    return _answer(request, at_site(get_object_or_404(Site, public_id=public_id), business), business)


@names_act("public.read")
@require_safe
def theme_feed(request: HttpRequest, public_id: str) -> HttpResponseBase:
    """The walks on one theme."""
    business = _business()
    return _answer(request, on_theme(get_object_or_404(Theme, public_id=public_id), business), business)


@names_act("public.read")
@require_safe
def species_feed(request: HttpRequest) -> HttpResponseBase:
    """When each taught species can be met or gathered."""
    business, year = _business(), timezone.localdate().year
    address = f"{settings.SITE_ADDRESS}{request.path}"
    return _tagged(
        request, species_tag(year=year), lambda: species_calendar(business, year=year, address=address), cache=PUBLIC
    )


@names_act("guide.by_link")
@require_safe
def guide_feed(request: HttpRequest, token: str) -> HttpResponseBase:
    """A guide's own walks. A link that is dead is answered like one that never was."""
    found = follow_link(LinkSecret.Purpose.FEED, token, now=timezone.now())
    if found is None or found[0] != "live":
        raise Http404
    business = _business()
    guide = get_object_or_404(Guide, public_id=found[1])
    answer = _answer(request, led_by(guide, business), business, cache=PRIVATE)
    answer["X-Robots-Tag"] = "noindex"
    answer["Referrer-Policy"] = "no-referrer"
    return answer


@names_act("guide.see")
@require_POST
def staff_guide_feed(request: HttpRequest, public_id: str) -> HttpResponse:
    """Make a new link for the guide's calendar and show it once; the one before is dead."""
    require(request, "guide.see", Subject(guides=frozenset({public_id})))
    guide = get_object_or_404(Guide, public_id=public_id)
    will = "It is shown once. A calendar that follows an earlier link of this guide hears of no change any more."
    back = reverse("staff_guide", args=[public_id])
    if page := asks_once(request, Question("Make a new calendar link?", will, "Make a new link", back)):
        return page
    token = new_guide_feed(guide, by=staff(request), now=timezone.now())
    address = f"{settings.SITE_ADDRESS}{reverse('guide_feed', args=[token])}"
    answer = render(request, "walks/guide_feed.html", {"guide": guide, "feed": address, "webcal": webcal(address)})
    answer["Cache-Control"] = "no-store"
    answer["Referrer-Policy"] = "no-referrer"
    return answer


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
    entry_of = public_entries(walks, {offering.public_id: slug}, now=timezone.now())
    return calendar_answer(request, calendar(walks, entry_of, _business()).content, cache=PUBLIC)


@names_act("public.read")
@require_safe
def calendar_page(request: HttpRequest) -> HttpResponse:
    """How to follow the walks, all of them or some."""
    coming = published_walks().filter(starts_at__gt=timezone.now(), called_off_at=None)
    feed = f"{settings.SITE_ADDRESS}{reverse('walks_feed')}"
    context = {
        "feed": feed,
        "webcal": webcal(feed),
        "species": _listed("What is in season", "species_feed"),
        "sites": [_listed(one.name, "site_feed", one) for one in Site.objects.filter(walks__in=coming).distinct()],
        "themes": [
            _listed(one.name, "theme_feed", one) for one in Theme.objects.filter(offerings__walks__in=coming).distinct()
        ],
    }
    return render(request, "walks/calendar.html", context)


def _listed(words: str, name: str, one: Site | Theme | None = None) -> tuple[str, str, str]:
    """Words, address and the address for programs that subscribe by their own scheme."""
    address = f"{settings.SITE_ADDRESS}{reverse(name, args=[one.public_id] if one else [])}"
    return words, address, webcal(address)


def webcal(address: str) -> str:
    """The same address for programs that subscribe by that scheme."""
    return f"webcal://{address.partition('://')[2]}"


def _business() -> Business:
    business = Business.objects.first()
    if business is None:
        raise Http404
    return business
