"""Recording a landowner's permission and an insurance cover; what lies outside afterwards is said."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from bookings.today import what_needs_somebody
from tests.cast import OFFICE, WALK_DAY, World
from tests.conftest import NOW
from tests.pages import signed_in, words_of
from tests.walks.sent import field_error
from walks.models import InsuranceCover, LandownersPermission

pytestmark = pytest.mark.usefixtures("september")


def typed(**changes: object) -> dict[str, object]:
    values = {
        "granted_by": "The estate office",
        "valid_from": "2026-01-01",
        "valid_to": "2027-06-30",
        "days_a_year": "12",
        "most_people": "14",
        "closed_seasons": "1 March to 31 July\n15 November to 1 February",
        "conditions": "Gates left as found.",
    }
    return values | changes


def cover(**changes: object) -> dict[str, object]:
    values = {"insurer": "I", "policy_number": "C-2", "valid_from": "2027-01-01", "valid_to": "2027-12-31"}
    return values | {"most_people": "20"} | changes


def test_a_permission_is_recorded(world: World) -> None:
    new = f"/staff/sites/{world.wood.public_id}/permissions/new/"
    answer = signed_in(world.gwen.user).post(new, typed(), follow=True)
    saved = LandownersPermission.objects.get(granted_by="The estate office")
    assert saved.closed_seasons == [["03-01", "07-31"], ["11-15", "02-01"]]
    assert (saved.days_a_year, saved.most_people, saved.valid_to) == (12, 14, date(2027, 6, 30))
    assert "1 March to 31 July; 15 November to 1 February" in words_of(answer.content)
    page = signed_in(world.olive).get(f"/staff/permissions/{saved.public_id}/")
    assert page.context["form"].initial["closed_seasons"] == "1 March to 31 July\n15 November to 1 February"


@pytest.mark.parametrize(
    ("changes", "field", "why"),
    [
        ({"closed_seasons": "spring"}, "closed_seasons", "Write it so: 1 March to 31 July."),
        ({"valid_to": "2025-12-31"}, "valid_to", "would end before it begins"),
        ({"most_people": "0"}, "most_people", "greater than or equal to 1"),
        ({"days_a_year": "0"}, "days_a_year", "greater than or equal to 1"),
    ],
)
def test_what_cannot_be_is_said_at_its_field(world: World, changes: dict[str, str], field: str, why: str) -> None:
    new = f"/staff/sites/{world.wood.public_id}/permissions/new/"
    answer = signed_in(world.olive).post(new, typed(**changes))
    assert answer.status_code == 422
    assert why in field_error(answer.content, field)
    assert b"The estate office" in answer.content
    assert LandownersPermission.objects.count() == 1


def test_a_change_that_leaves_a_published_walk_outside_says_so(world: World) -> None:
    permission = LandownersPermission.objects.get()
    sent = typed(closed_seasons="1 October to 31 October")
    answer = signed_in(world.olive).post(f"/staff/permissions/{permission.public_id}/", sent, follow=True)
    sentence = "is closed from 1 October to 31 October, and so on 2026-10-03."
    assert f"“The bare wood” is published, but: The landowner's permission for Cast Wood {sentence}" in words_of(
        answer.content
    )
    assert any(sentence in one.words for one in what_needs_somebody(OFFICE, now=NOW))


def test_a_permission_that_ends_within_sixty_days_needs_somebody(world: World) -> None:
    def said(valid_to: date) -> list[str]:
        LandownersPermission.objects.update(valid_to=valid_to)
        needs = what_needs_somebody(OFFICE, now=NOW)
        return [one.address for one in needs if "Ask for it anew" in one.words]

    assert said(NOW.date() + timedelta(days=61)) == []
    assert said(NOW.date() + timedelta(days=60)) == [f"/staff/sites/{world.wood.public_id}/"]


def test_a_cover_is_recorded_and_changed(world: World) -> None:
    client = signed_in(world.olive)
    answer = client.post("/staff/cover/new/", cover(), follow=True)
    saved = InsuranceCover.objects.get(policy_number="C-2")
    assert "C-2" in words_of(answer.content)
    client.post(f"/staff/cover/{saved.public_id}/", cover(most_people="12"))
    assert InsuranceCover.objects.get(pk=saved.pk).most_people == 12
    backward = client.post("/staff/cover/new/", cover(valid_to="2026-12-31"))
    assert "would end before it begins" in field_error(backward.content, "valid_to")


def test_a_published_walk_without_cover_is_named(world: World) -> None:
    InsuranceCover.objects.update(valid_to=WALK_DAY)
    assert "Not covered" not in words_of(signed_in(world.olive).get("/staff/cover/").content)
    InsuranceCover.objects.update(valid_to=WALK_DAY - timedelta(days=1))
    words = words_of(signed_in(world.olive).get("/staff/cover/").content)
    assert "Not covered Published, and no cover is in force on the day: The bare wood" in words
    assert any("has no insurance cover" in one.words for one in what_needs_somebody(OFFICE, now=NOW))
