"""The current route of a site: measured, timed and drawn."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from foraywright.floor.compute.clock_words import duration
from walks.compute.route_drawing import route_svg
from walks.compute.route_profile import profile_svg
from walks.compute.routes import Point, Route
from walks.compute.walking_time import Margins, group_minutes, naismith_minutes, tobler_minutes
from walks.models import Site, SiteRoute

MARGINS_FILE = Path(__file__).resolve().parent / "policies" / "walking_time.toml"


@dataclass(frozen=True, slots=True)
class RouteFacts:
    """What pages say of a route: metres, whole minutes of moving by each rule, and minutes that a taught group takes.

    `up_m` and `down_m` are None without recorded heights; `minutes` supposes that children come along, since every walk
    is open to them.
    """

    name: str
    route: Route
    distance_m: float
    up_m: int | None
    down_m: int | None
    naismith: int
    tobler: int
    adults_minutes: int
    minutes: int

    @property
    def kilometres(self) -> str:
        return f"{self.distance_m / 1000:.1f} km"

    @property
    def words(self) -> str:
        """How far and how steep, e.g. "3.2 km, 80 m up and 76 m down"."""
        steep = "heights not recorded" if self.up_m is None else f"{self.up_m} m up and {self.down_m} m down"
        return f"{self.kilometres}, {steep}"


def margins() -> Margins:
    """What a taught walk needs beyond moving."""
    table = tomllib.loads(MARGINS_FILE.read_text(encoding="utf-8"))
    return Margins(table["group"], table["children"], table["stop_minutes_per_km"])


def route_facts(site: Site) -> RouteFacts | None:
    """The facts of the site's current route, None without one. One query, one more for a route not seen before."""
    row = SiteRoute.objects.filter(site=site, current=True).values_list("public_id", flat=True).first()
    return _facts(row) if row else None


@lru_cache(maxsize=128)
def _facts(public_id: str) -> RouteFacts:
    """A row never changes, so what was measured once stays true."""
    row = SiteRoute.objects.defer("gpx").get(public_id=public_id)
    route = Route(tuple(Point(*one) for one in row.points))
    climbs = route.climbs or (None, None)
    up, down = (None if one is None else round(one) for one in climbs)
    return RouteFacts(
        name=row.name,
        route=route,
        distance_m=route.distance_m,
        up_m=up,
        down_m=down,
        naismith=round(naismith_minutes(route.legs)),
        tobler=round(tobler_minutes(route.legs)),
        adults_minutes=group_minutes(route.legs, margins(), children=False),
        minutes=group_minutes(route.legs, margins(), children=True),
    )


def route_drawing(site: Site) -> str:
    """The current route from above as SVG text, "" without one. Staff papers only, unless `site.route_is_public`."""
    facts = route_facts(site)
    if facts is None:
        return ""
    meeting = Point(float(site.latitude), float(site.longitude))
    return route_svg(facts.route, meeting, f"The route at {site}, north up: {facts.words}.")


def route_profile(site: Site) -> str:
    """The profile of heights as SVG text, "" without a route or without heights."""
    facts = route_facts(site)
    return profile_svg(facts.route, f"Heights along the route at {site}: {facts.words}.") if facts else ""


def does_not_fit(site: Site, minutes: int) -> str:
    """Why a walk of `minutes` is too short for the site's route; "" where it is long enough or there is no route."""
    facts = route_facts(site)
    if facts is None or facts.minutes <= minutes:
        return ""
    return (
        f"The route at {site} ({facts.words}) takes a group with children and its stops about "
        f"{duration(facts.minutes)} by our rule; the walk lasts {duration(minutes)}. "
        "Make it longer, or walk part of the route."
    )
