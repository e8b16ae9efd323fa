"""How values of an account join over stages. The coding is our rule; unknown is never turned into knowledge."""

import pytest

from curriculum.compute.account import INAPPLICABLE, UNKNOWN, Account, Interval
from curriculum.compute.account_format import read_account
from tests.curriculum.compute.files import accounts, document, vocabulary


def coded(characters: dict[str, object], **more: object) -> Account:
    """A mushroom of which nothing but these characters is recorded."""
    changed = {**document("cantharellus-cibarius"), "characters": characters, "lookalike": [], "look_order": [], **more}
    return read_account({**changed, "unknown": []}, "test.toml", vocabulary())


def test_a_value_without_a_stage_belongs_to_every_stage():
    account = coded({"cap_colour": ["white"]})
    assert {stage: account.value("cap_colour", stage) for stage in ("young", "mature", "all")} == {
        "young": {"white"},
        "mature": {"white"},
        "all": {"white"},
    }


def test_values_of_a_stage_are_added_to_those_of_every_stage():
    account = coded({"cap_colour": ["white"], "young": {"cap_colour": ["red"]}})
    assert account.value("cap_colour", "young") == {"white", "red"}
    assert account.value("cap_colour", "mature") == {"white"}
    assert account.value("cap_colour") == {"white", "red"}


def test_ranges_join_to_the_widest():
    account = coded({"young": {"cap_width": [5, 20]}, "mature": {"cap_width": [40, 110]}})
    assert account.value("cap_width") == Interval(5, 110)


def test_what_one_stage_does_not_know_nobody_knows_who_is_not_sure_of_the_stage():
    account = coded({"mature": {"cap_width": [40, 110]}})
    assert account.value("cap_width", "young") is UNKNOWN
    assert account.value("cap_width") is UNKNOWN


def test_where_the_structure_is_absent_what_belongs_to_it_is_inapplicable():
    account = coded({"stem": "absent"})
    assert account.value("stem_length", "mature") is INAPPLICABLE
    assert account.value("ring") is INAPPLICABLE
    assert account.value("stem") == {"absent"}


def test_where_the_structure_may_be_there_it_is_only_unknown():
    account = coded({"stem": ["absent", "stub"]})
    assert account.value("stem_length", "mature") is UNKNOWN


def test_absent_at_one_stage_is_inapplicable_there_only():
    account = coded({"underside_colour": "white", "young": {"underside": "none"}, "mature": {"underside": "gills"}})
    assert account.value("underside_colour", "young") is INAPPLICABLE
    assert account.value("underside_colour", "mature") == {"white"}
    assert account.value("underside_colour") is UNKNOWN


def test_names_places_and_lists_for_labels():
    oyster = accounts()["pleurotus-ostreatus"]
    assert oyster.accepted_name == "Pleurotus ostreatus"
    assert oyster.vernacular() == "Grey Oyster"
    assert oyster.vernacular("cy") == "Pleurotus ostreatus"
    assert "broadleaf_deadwood" in oyster.substrates
    assert {"beech", "poplar"} <= set(oyster.hosts)
    assert oyster.growth == ("tiered", "tuft")
    assert "broadleaved_wood" in oyster.habitats
    assert accounts()["calvatia-gigantea"].hosts == ()


def test_the_death_cap_may_have_lost_its_ring_and_be_white():
    death_cap = accounts()["amanita-phalloides"]
    assert {"hanging", "absent"} <= death_cap.value("ring", "mature")
    assert "white" in death_cap.value("cap_colour")


@pytest.mark.parametrize("stage", ["young", "mature"])
def test_the_funeral_bell_is_coded_on_every_kind_of_wood(stage: str):
    assert {"conifer_deadwood", "broadleaf_deadwood", "woodchip"} <= accounts()["galerina-marginata"].value(
        "substrate", stage
    )
