"""The risk assessment of a walk as composed: its named facts, and what the hazard library makes of them."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import timedelta
from functools import lru_cache
from pathlib import Path
from typing import Any

from curriculum.compute.expected import Expectation
from curriculum.queries import jurisdictions
from foraywright.floor.models import Business, PolicyVersion
from walks.compute.daylight import Daylight
from walks.compute.risk_assessment import Assessment, compose
from walks.compute.risk_facts import QUARTER
from walks.compute.risk_group import Coming, Scope, group_facts
from walks.compute.risk_library import Library, library_from
from walks.compute.risk_matrix import Matrix, matrices_from
from walks.guides import first_aider_on
from walks.models import Walk, WalkGuide
from walks.queries import WalkLimits
from walks.ratio_conditions import is_tidal

HAZARDS = Path(__file__).resolve().parent / "hazards"
MATRIX = "five-by-five"
ASCENT = ((50, "level"), (150, "gentle"), (300, "hilly"))


@lru_cache(maxsize=1)
def hazard_library() -> Library:
    """The hazard library from walks/hazards/library/, which changes only with the program."""
    files = sorted((HAZARDS / "library").glob("*.toml"))
    return library_from({file.name: tomllib.loads(file.read_text(encoding="utf-8")) for file in files})


@lru_cache(maxsize=1)
def risk_matrices() -> Mapping[str, Matrix]:
    """The matrices that a business may choose from, by key, the default first."""
    content = tomllib.loads((HAZARDS / "matrices.toml").read_text(encoding="utf-8"))
    return matrices_from("matrices.toml", content)


@dataclass(frozen=True, slots=True)
class House:
    """What of the business every assessment reads: the matrix it has chosen, the numbers that help is called by."""

    matrix: Matrix
    numbers: str


def house() -> House:
    """The house as it stands. Two queries."""
    chosen = PolicyVersion.objects.filter(kind=PolicyVersion.Kind.HAZARDS).order_by("-number").first()
    law = jurisdictions()[Business.objects.get().jurisdiction]
    numbers = [*law["emergency_numbers"], *(line.get("number") or line["name"] for line in law.get("poison_line", ()))]
    return House(risk_matrices()[chosen.body["matrix"] if chosen else MATRIX], ", ".join(numbers))


@dataclass(frozen=True, slots=True)
class Known:
    """What is known of a walk before its hazards are: limits, daylight, what grows there, the route ("" = none).

    `site_record`: number of the newest record in the site's history, None without one.
    """

    limits: WalkLimits
    light: Daylight
    expected: Expectation
    route: str = ""
    site_record: int | None = None


def assessment_of(
    walk: Walk, known: Known, of: House, scope: Scope, coming: Coming, *, versions: bool = False
) -> Assessment:
    """The assessment composed from the walk as it stands. No query where guides and certificates are prefetched.

    `scope`: whom it is for; `coming`: who has a place. `versions` asks for the version of each record read.
    """
    groups = {
        "site": _site_facts(walk, coming),
        "walk": _time_facts(walk, known.light),
        "group": _group_facts(walk, known.limits, scope, coming),
        "accounts": _danger_facts(known.expected),
        "incidents": {"open_follow_ups": sorted(coming.follow_ups), "lasting_controls": sorted(coming.lasting)},
        "theme": {"activities": sorted({"walk", *walk.subject.activities})},
    }
    return compose(
        hazard_library(),
        of.matrix,
        {key: value for facts in groups.values() for key, value in facts.items()},
        versions=_versions(walk, known, groups) if versions else None,
        emergency=_emergency(walk, known, of),
    )


def _versions(walk: Walk, known: Known, groups: Mapping[str, Mapping[str, Any]]) -> dict[str, str]:
    """Of each fact the version of the record that it came from, as far as records have one."""
    of = {
        "site": f"site record {known.site_record or 'without history'}",
        "walk": f"calendar entry {walk.calendar_sequence}",
        "group": f"ratio policy {known.limits.policy.version}",
        "accounts": "accounts in use on the day of signing",
        "incidents": "follow-ups as they stood on the day of signing",
        "theme": f"theme {walk.subject}",
    }
    return {key: of[group] for group, facts in groups.items() for key in facts}


def _emergency(walk: Walk, known: Known, of: House) -> dict[str, str]:
    """What is printed for emergencies beside the facts: who leads, where help comes to, when the group is due back."""
    site, end = walk.site, walk.local_end
    late = -(-end.minute // QUARTER) * QUARTER - end.minute
    leads = [one.guide.name for one in walk.walk_guides.all() if one.role == WalkGuide.Role.LEADS]
    return {
        "grid reference": site.reference_as_typed,
        "meeting point": site.meeting_point,
        "route": known.route,
        "way in": site.parking,
        "emergency department": site.emergency_department,
        "emergency numbers": of.numbers,
        "leading guide": ", ".join(leads),
        "due back": f"{end + timedelta(minutes=late):%Y-%m-%d %H:%M}",
    }


def _site_facts(walk: Walk, coming: Coming) -> dict[str, Any]:
    site = walk.site
    return {
        "habitats": site.habitats,
        "site_hazards": site.hazards,
        "mobile_coverage": None if site.mobile_coverage == "unknown" else site.mobile_coverage,
        "emergency_minutes": site.emergency_minutes,
        "route_ascent_band": _ascent_band(site.ascent_m),
        "step_free": site.step_free,
        "dogs_allowed": coming.dogs or "loose_dogs" in site.hazards,
        "cattle": "cattle" in site.hazards,
        "roadside": "roadside" in site.hazards,
        "protected_site": bool(site.protected_status),
        "tidal": is_tidal(site),
        "low_water_known": walk.low_water is not None,
    }


def _ascent_band(metres: int | None) -> str | None:
    if metres is None:
        return None
    return next((band for limit, band in ASCENT if metres < limit), "steep")


def _time_facts(walk: Walk, light: Daylight) -> dict[str, Any]:
    start = walk.local_time.hour * 60 + walk.local_time.minute
    margin = (light.civil_dusk - walk.ends_at).total_seconds() // 60 if light.civil_dusk else None
    return {
        "month": walk.local_date.month,
        "start_minute": start,
        "end_minute": start + walk.minutes,
        "ends_after_sunset": light.sunset is not None and walk.ends_at > light.sunset,
        "night_walk": walk.is_night_walk,
        "twilight_margin_min": None if margin is None else int(margin),
    }


def _group_facts(walk: Walk, limits: WalkLimits, scope: Scope, coming: Coming) -> dict[str, Any]:
    guides = [one for one in limits.staff if one.role == "guide"]
    most = min((cap.figure for cap in limits.caps), default=0)
    return {
        **group_facts(limits.policy, scope, coming, most=most, staff=len(limits.staff)),
        "guides_count": len(guides),
        "lone_guide": sum(one.adult for one in limits.staff) < 2,
        "first_aider_present": first_aider_on(walk.walk_guides.all(), walk.local_date),
    }


def _danger_facts(expected: Expectation) -> dict[str, Any]:
    deadly = [one.taxon for one in expected.dangers if one.edibility == "deadly"]
    poisonous = [one.taxon for one in expected.dangers if one.edibility != "deadly"]
    touch = [one.taxon for one in expected.dangers if any(c.kind == "touch" for c in one.caveats)]
    return {"deadly_expected": deadly, "poisonous_expected": poisonous, "touch_hazard_expected": touch}
