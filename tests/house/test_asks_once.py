"""A button that does what cannot be undone asks once and says what will happen."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest
from django.test import Client
from django.urls import reverse

from bookings.models import DiscountCode
from foraywright.floor.models import AuditLine
from tests.cast import World
from tests.pages import say_yes, words_of
from walks.models import Offering

ROOT = Path(__file__).parents[2]
ROOMS = ("bookings", "walks", "curriculum")

TAKEN_BACK = {
    "booking_card": "the card page that follows can be left",
    "voucher_order_card": "the card page that follows can be left",
    "booking_confirm": "cancelled under the terms that the page shows",
    "booking_extend": "held places are given back by one button, or lapse",
    "booking_own_link": "a newer link ends it",
    "booking_pay_by_voucher": "comes back on the voucher when the booking is cancelled",
    "process_payment": "a signed notice of the card's provider; no person presses it",
    "recall_acknowledge": "says that a copy is destroyed; it does nothing else",
    "staff_absence_remove": "entered anew",
    "staff_cost_remove": "entered anew",
    "staff_export": "changes nothing but the list of looks",
    "staff_group_export": "changes nothing but the audit",
    "staff_quote_again": "a letter says the same twice",
    "staff_find_remove": "entered anew",
    "staff_follow_up_done": "a further follow-up is added; what lasts is ended by the next button",
    "staff_day_guide": "the guide is here after all",
    "staff_letter_settle": "the letter can be printed and posted again",
    "staff_letter_text_ours": "the words before stay as an earlier version",
    "staff_message_handle": "says that a person saw to it; the letter stays",
    "staff_message_retry": "a letter says the same twice",
    "staff_permission_attach": "erased by its own button, which asks",
    "staff_plan_again": "the plan before stays",
    "staff_proposal": "left open again by the next button; an accepted one is a draft",
    "staff_register_copy": "called back by its own button, which asks",
    "staff_site_route": "another route is put in its place",
    "staff_walk_up_settle": "says that a person looked at it; what was broken stays written",
    "staff_site_route_end": "the route is recorded again",
}
"""Buttons that ask nothing, each with how what it does is taken back or why it need not be."""


def buttons() -> dict[str, ast.FunctionDef]:
    """Every view that is a button and no page: it takes POST only."""
    found: dict[str, ast.FunctionDef] = {}
    for path in (one for room in ROOMS for one in (ROOT / room / "views").glob("*.py")):
        for node in ast.parse(path.read_text()).body:
            if isinstance(node, ast.FunctionDef) and any(
                ast.unparse(one) == "require_POST" for one in node.decorator_list
            ):
                found[node.name] = node
    return found


def asks(view: ast.FunctionDef) -> bool:
    calls = (node.func for node in ast.walk(view) if isinstance(node, ast.Call))
    return any(isinstance(one, ast.Name) and one.id == "asks_once" for one in calls)


def test_every_button_asks_or_says_how_it_is_taken_back() -> None:
    silent = {name for name, view in buttons().items() if not asks(view)}
    assert silent == set(TAKEN_BACK), "ask with foraywright.floor.asking, or say here how it is taken back"


def test_what_an_act_found_otherwise_is_asked_anew_in_one_way() -> None:
    """By `asks_anew`, around the view: no view has a way of its own."""
    for path in (one for room in ROOMS for one in (ROOT / room / "views").glob("*.py")):
        calls = (node for node in ast.walk(ast.parse(path.read_text())) if isinstance(node, ast.Call))
        compares = any(one.arg == "seen" for call in calls for one in call.keywords)
        assert "SeenOtherwise" not in path.read_text(), path
        assert not compares or "@asks_anew" in path.read_text(), path


@pytest.fixture
def draft(world: World) -> Offering:
    world.offering.state = Offering.State.DRAFT
    world.offering.save(update_fields=["state"])
    return world.offering


@pytest.mark.usefixtures("september")
def test_nothing_is_done_before_the_answer(olive: Client, world: World) -> None:
    address = reverse("staff_start", args=[world.offering.public_id, 1])
    acts = AuditLine.objects.count()
    answer = olive.post(address)
    assert "This cannot be undone. It counts as started now, by you" in words_of(answer.content)
    assert "No, leave it" in words_of(answer.content)
    assert AuditLine.objects.count() == acts


@pytest.mark.usefixtures("september")
def test_another_question_than_the_one_answered_is_asked_again(olive: Client, world: World) -> None:
    code = DiscountCode.objects.create(
        code="SPRING", label="Spring", percent=10, first_day="2026-01-01", last_day="2026-12-31", currency="GBP"
    )
    address = reverse("staff_discount_end", args=[code.public_id])
    answer = olive.post(address, {"seen": "what somebody saw of another code"})
    assert answer.status_code == 409
    assert "Look again." in words_of(answer.content)
    code.refresh_from_db()
    assert code.ended_at is None
    assert say_yes(olive, address).status_code == 302
    code.refresh_from_db()
    assert code.ended_at is not None
