"""A site is added with words that the curriculum and the hazard library know, or not at all."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal

import pytest

from tests.cast import World
from walks.errors import SiteNotSaved
from walks.models import Site
from walks.services.save_site import save_site

FACTS = {"name": "New Wood", "meeting_point": "the gate", "habitats": ["mixed_wood"], "most_people": 12}


def test_adds_it_where_the_typed_reference_says(world: World, now: datetime) -> None:
    site = save_site(FACTS, reference="SU 387 148", by=world.olive, now=now)
    assert (site.reference_as_typed, site.reference_datum, site.reference_precision_m) == ("SU 387 148", "OSGB36", 100)
    assert abs(site.latitude - Decimal("50.9315")) < Decimal("0.001")


def test_names_every_strange_word_and_saves_nothing(world: World, now: datetime) -> None:
    facts = FACTS | {"habitats": ["broadleaved_woods"], "hazards": ["cattel"]}
    with pytest.raises(SiteNotSaved) as refused:
        save_site(facts, reference="Ben Nevis", by=world.olive, now=now)
    assert refused.value.happened == "The site “New Wood” was not saved."
    assert [sentence.split(":")[0] for sentence in refused.value.why[:2]] == [
        "“broadleaved_woods” is no habitat that we know",
        "“cattel” is no hazard that we know",
    ]
    assert "perhaps 'broadleaved_wood'" in refused.value.why[0]
    assert len(refused.value.why) == 3
    assert not Site.objects.filter(name="New Wood").exists()
