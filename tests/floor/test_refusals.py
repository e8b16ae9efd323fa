"""The one shape of a refusal."""

from __future__ import annotations

import pytest

import walks.errors  # noqa: F401  (the three bring in every refusal)
from foraywright.floor.refusals import Refusal, SeenOtherwise

ALL = [one for one in Refusal.__subclasses__() if not one.__module__.startswith("tests")]


def test_says_its_parts_in_the_order_in_which_a_person_needs_them() -> None:
    refused = Refusal("Not done.", why=["One.", "Two."], became="Nothing was lost.", now="Try later.", field="name")
    assert refused.sentence == str(refused) == "Not done. One. Two. Nothing was lost. Try later."
    assert (refused.why, refused.field, refused.code) == (("One.", "Two."), "name", "refused")


def test_leaves_out_what_is_not_there() -> None:
    assert Refusal("Not done.").sentence == "Not done."


def test_each_has_a_code_of_its_own() -> None:
    codes = [one.code for one in ALL]
    assert len(codes) == len(set(codes)) >= 8
    assert Refusal.code not in codes


@pytest.mark.parametrize("kind", ALL)
def test_each_stands_in_the_errors_of_its_room_and_says_what_it_means(kind: type[Refusal]) -> None:
    rooms = ("bookings.errors", "curriculum.errors", "walks.errors")
    assert kind.__module__ in rooms or (kind is SeenOtherwise and kind.__module__ == "foraywright.floor.refusals")
    assert kind.__doc__
