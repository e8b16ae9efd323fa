"""Which conditions of the ratio policy hold on a walk: its ground, its hour, what is done on it."""

from __future__ import annotations

from walks.models import Site, Walk

SHORE = frozenset({"rocky_shore", "sheltered_shore", "beach_head", "rock_pool", "offshore", "saltmarsh"})
STEEP_FROM_M = 300


def is_tidal(site: Site) -> bool:
    """Whether a walk there goes by low water: on a shore, or where the tide is named among the hazards. No query."""
    return "tide" in site.hazards or bool(SHORE & set(site.habitats))


def conditions_of(walk: Walk) -> frozenset[str]:
    """Keys of the conditions that hold: "night", "tidal", "steep", and the activities of the theme. No query where
    site, offering and themes are at hand."""
    site = walk.site
    held = {
        "night": walk.is_night_walk,
        "tidal": is_tidal(site),
        "steep": site.ascent_m is not None and site.ascent_m >= STEEP_FROM_M,
    }
    return frozenset({key for key, holds in held.items() if holds} | set(walk.subject.activities))
