"""The draft risk assessment of a walk: its named facts, and what the hazard library makes of them."""

from __future__ import annotations

import tomllib
from functools import lru_cache
from pathlib import Path
from typing import Any

from curriculum.compute.expected import Expectation
from walks.compute.daylight import Daylight
from walks.compute.risk_assessment import Assessment, compose
from walks.compute.risk_library import Library, library_from
from walks.compute.risk_matrix import Matrix, matrices_from
from walks.models import GuideCertificate, Walk
from walks.queries import WalkLimits

HAZARDS = Path(__file__).resolve().parent / "hazards"
MATRIX = "five-by-five"
ASCENT = ((50, "level"), (150, "gentle"), (300, "hilly"))
SHORE = frozenset({"rocky_shore", "sheltered_shore", "beach_head", "rock_pool", "offshore", "saltmarsh"})


@lru_cache(maxsize=1)
def hazard_library() -> Library:
    """The hazard library from walks/hazards/library/, which changes only with the program."""
    files = sorted((HAZARDS / "library").glob("*.toml"))
    return library_from({file.name: tomllib.loads(file.read_text(encoding="utf-8")) for file in files})


@lru_cache(maxsize=1)
def risk_matrix() -> Matrix:
    """The matrix that assessments use."""
    content = tomllib.loads((HAZARDS / "matrices.toml").read_text(encoding="utf-8"))
    return matrices_from("matrices.toml", content)[MATRIX]


def assessment_of(walk: Walk, limits: WalkLimits, light: Daylight, expected: Expectation) -> Assessment:
    """The assessment composed from the walk as it stands. No query where guides and certificates are prefetched."""
    facts = {
        **_site_facts(walk),
        **_time_facts(walk, light),
        **_group_facts(walk, limits),
        **_danger_facts(expected),
        "access_controls": [],  # nothing is arranged before somebody has asked for it
        "activities": sorted({"walk", *walk.subject.activities}),
    }
    return compose(hazard_library(), risk_matrix(), facts, emergency={"meeting point": walk.site.reference_as_typed})


def _site_facts(walk: Walk) -> dict[str, Any]:
    site = walk.site
    return {
        "habitats": site.habitats,
        "site_hazards": site.hazards,
        "mobile_coverage": None if site.mobile_coverage == "unknown" else site.mobile_coverage,
        "emergency_minutes": site.emergency_minutes,
        "route_ascent_band": _ascent_band(site.ascent_m),
        "step_free": site.step_free,
        "dogs_allowed": "loose_dogs" in site.hazards,
        "cattle": "cattle" in site.hazards,
        "roadside": "roadside" in site.hazards,
        "protected_site": bool(site.protected_status),
        "tidal": "tide" in site.hazards or bool(SHORE & set(site.habitats)),
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


def _group_facts(walk: Walk, limits: WalkLimits) -> dict[str, Any]:
    """Who may come: walks are open to every age band of the policy, so each of them counts as admitted."""
    guides = [one for one in limits.staff if one.role == "guide"]
    certificates = [c for one in walk.walk_guides.all() for c in one.guide.certificates.all()]
    first_aid = [c for c in certificates if c.kind == GuideCertificate.Kind.FIRST_AID]
    most = min((cap.figure for cap in limits.caps), default=0)
    return {
        "children_bands": [band.key for band in limits.policy.bands],
        "young_children": True,
        "unaccompanied_children": True,
        "group_size_band": _size_band(most),
        "guides_count": len(guides),
        "lone_guide": sum(one.adult for one in limits.staff) < 2,
        "first_aider_present": any(c.covers(walk.local_date) for c in first_aid),
    }


def _size_band(most: int) -> str:
    return next(
        (band for limit, band in ((6, "1 to 6"), (12, "7 to 12"), (20, "13 to 20")) if most <= limit), "over 20"
    )


def _danger_facts(expected: Expectation) -> dict[str, Any]:
    deadly = [one.taxon for one in expected.dangers if one.edibility == "deadly"]
    poisonous = [one.taxon for one in expected.dangers if one.edibility != "deadly"]
    touch = [one.taxon for one in expected.dangers if any(c.kind == "touch" for c in one.caveats)]
    return {"deadly_expected": deadly, "poisonous_expected": poisonous, "touch_hazard_expected": touch}
