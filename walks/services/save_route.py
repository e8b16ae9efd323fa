"""Keep a recorded route as the current one of a site, or take it off."""

from __future__ import annotations

from datetime import datetime

from foraywright.floor.acts import By, act, record
from walks.compute.gpx_files import GpxRefused, cleaned_gpx, route_from_gpx
from walks.compute.routes import Point, Route, nearest_m
from walks.errors import RouteRefused
from walks.models import Site, SiteRoute

FURTHEST_M = 5_000


@act
def save_route(site: Site, content: bytes, *, name: str, by: By, now: datetime) -> SiteRoute:
    """Keep the route in the GPX file `content`. Raises RouteRefused with the reason.

    The site's row is locked: two who send at once would otherwise both be the current one. The climbing that the
    assessment reads follows from the route, where it has heights.
    """
    locked = Site.objects.select_for_update().get(pk=site.pk)
    route = _read(content)
    away = nearest_m(route, Point(float(locked.latitude), float(locked.longitude)))
    if away > FURTHEST_M:
        raise _refusal(f"It comes no nearer to the meeting point than {away / 1000:.0f} km: it belongs elsewhere.")
    SiteRoute.objects.filter(site=locked, current=True).update(current=False)
    points = [[round(one.latitude, 6), round(one.longitude, 6), one.height] for one in route.points]
    row = SiteRoute.objects.create(site=locked, name=name, points=points, gpx=cleaned_gpx(route, name), added_at=now)
    if route.climbs is not None:
        locked.ascent_m = round(route.climbs[0])
        locked.save()
    record("add route", locked, by=by, now=now, fields=("route", "ascent_m"))
    return row


@act
def end_route(site: Site, *, by: By, now: datetime) -> None:
    """Take the current route off the site; the row stays, for papers that were printed with it."""
    locked = Site.objects.select_for_update().get(pk=site.pk)
    SiteRoute.objects.filter(site=locked, current=True).update(current=False)
    record("end route", locked, by=by, now=now, fields=("route",))


def _read(content: bytes) -> Route:
    try:
        return route_from_gpx(content)
    except GpxRefused as fault:
        raise _refusal(str(fault)) from fault


def _refusal(why: str) -> RouteRefused:
    return RouteRefused(
        "The route was not kept.",
        why=[why],
        became="The site stands as it was.",
        now="Choose a GPX file with one track.",
        field="gpx",
    )
