"""Add a site. Its words must be the vocabulary's: a misspelt habitat would silently drop species, deadly ones too."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from datetime import datetime
from decimal import Decimal
from typing import Any

from curriculum.compute.problems import nearest
from curriculum.queries import vocabulary
from foraywright.floor.acts import By, act, record
from walks.assessments import hazard_library
from walks.compute.grid_reference import Reference, parse_reference
from walks.compute.map_squares import ReferenceRefused
from walks.errors import SiteNotAdded
from walks.models import Site


@act
def add_site(facts: Mapping[str, Any], *, reference: str, by: By, now: datetime) -> Site:
    """Add the site that `facts` describe (fields of Site), meeting where `reference` says as a person would type it.

    Raises SiteNotAdded with every fault at once. The ground is taken to lie at the meeting point until it is mapped.
    """
    faults = [*_strange_words(facts)]
    place = _place(reference, faults)
    if faults or place is None:
        raise SiteNotAdded(
            f"The site “{facts.get('name', '')}” was not added.",
            why=faults,
            became="Nothing was saved.",
            now="Put these right and add it again.",
        )
    site = Site.objects.create(**facts, **_located(place))
    record("add site", site, by=by, now=now, fields=tuple(facts))
    return site


def _strange_words(facts: Mapping[str, Any]) -> Iterator[str]:
    characters = vocabulary().characters
    yield from _strange("habitat", facts.get("habitats", ()), characters["habitat"].states)
    yield from _strange("host tree", facts.get("host_trees", ()), characters["host"].states)
    yield from _strange("hazard", facts.get("hazards", ()), hazard_library().facts["site_hazards"].words)


def _strange(what: str, words: Iterable[str], known: Collection[str]) -> Iterator[str]:
    for word in words:
        if word not in known:
            yield f"“{word}” is no {what} that we know: {nearest(word, known)}."


def _place(reference: str, faults: list[str]) -> Reference | None:
    try:
        return parse_reference(reference)
    except ReferenceRefused as refused:
        faults.append(str(refused))
        return None


def _located(place: Reference) -> dict[str, Any]:
    latitude, longitude = (Decimal(f"{degrees:.6f}") for degrees in (place.latitude, place.longitude))
    return {
        "reference_as_typed": place.as_typed,
        "reference_datum": place.datum,
        "reference_precision_m": place.precision_m,
        "latitude": latitude,
        "longitude": longitude,
        "ground_latitude": latitude,
        "ground_longitude": longitude,
    }
