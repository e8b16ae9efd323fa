"""The one table of who may do what, held to a second table."""

from __future__ import annotations

import pytest

from foraywright.floor.compute.permissions import ACTS, Actor, Subject, may
from foraywright.floor.door import names_act

WALK = Subject(guides=frozenset({"gwen"}))
ACTORS = {
    "public": Actor(),
    "no role": Actor(signed_in=True),
    "office": Actor(True, frozenset({"office"})),
    "guide of the walk": Actor(True, frozenset({"guide"}), "gwen"),
    "other guide": Actor(True, frozenset({"guide"}), "harry"),
    "guide without a row": Actor(True, frozenset({"guide"})),
    "reviewer": Actor(True, frozenset({"reviewer"})),
}
GUIDES = {"guide of the walk", "other guide", "guide without a row"}
EVERYBODY = set(ACTORS)
MAY = {
    "public.read": EVERYBODY,
    "booking.make": EVERYBODY,
    "booking.by_link": EVERYBODY,
    "staff.front_page": {"office", "reviewer"} | GUIDES,
    "walk.see": {"office"} | GUIDES,
    "walk.schedule": {"office"} | GUIDES,
    "walk.publish": {"office"} | GUIDES,
    "walk.call_off": {"office", "guide of the walk"},
    "walk.print_risk_assessment": {"office"} | GUIDES,
    "walk.print_register": {"office", "guide of the walk"},
    "booking.see": {"office"},
    "booking.cancel": {"office"},
    "season.plan": {"office"} | GUIDES,
    "template.use": {"office"} | GUIDES,
    "site.see": {"office"} | GUIDES,
    "site.edit": {"office"} | GUIDES,
    "voucher.sell": {"office"} | GUIDES,
    "walk.assess": {"office", "guide of the walk"},
    "walk.lead": {"office", "guide of the walk"},
    "walk.change": {"office", "guide of the walk"},
    "walk.mark_attendance": {"office", "guide of the walk"},
    "finds.keep": {"office", "guide of the walk"},
    "walk_up.add": {"office", "guide of the walk"},
    "walk_up.settle": {"office"},
    "declaration.see": {"office", "guide of the walk"},
    "declaration.take": {"office", "guide of the walk"},
    "payment.note": {"office", "guide of the walk"},
    "guide.see": {"office", "guide of the walk"},
    "incident.keep": {"office", "guide of the walk"},
    "incident.list": {"office"},
    "guide.be_away": {"office", "guide of the walk"},
    "guide.edit": {"office"},
    "guide.by_link": EVERYBODY,
    "staff.by_link": EVERYBODY,
    "risk_matrix.choose": {"office"},
    "access.answer": {"office"},
    "personal_data.handle": {"office"},
    "looks.see": {"office"},
    "money.see": {"office"},
    "money.handle": {"office"},
    "house.keep": {"office"},
    "staff.keep": {"office"},
    "letter.settle": {"office"},
    "letter.edit": {"office"},
    "booking.change": {"office"},
    "account.review": {"office", "reviewer"},
    "account.sign_off": {"reviewer"},
    "account.withdraw": {"reviewer"},
    "account.revise": {"office", "reviewer"} | GUIDES,
}


def test_every_act_is_in_the_second_table() -> None:
    assert set(MAY) == set(ACTS)


@pytest.mark.parametrize("act", sorted(MAY))
def test_who_may(act: str) -> None:
    assert {who for who, actor in ACTORS.items() if not may(actor, act, WALK)} == MAY[act]


def test_the_door_lets_a_guide_as_far_as_the_walk() -> None:
    for act in ("walk.call_off", "walk.print_register"):
        assert may(ACTORS["other guide"], act) == ()
        assert may(ACTORS["other guide"], act, WALK) == ("you are not a guide of this walk",)
        assert may(ACTORS["reviewer"], act, WALK) == ("this page is for: office, guides of the walk",)


def test_a_guide_without_a_row_is_guide_of_no_walk() -> None:
    nobody = Subject(guides=frozenset())
    assert may(ACTORS["guide without a row"], "walk.call_off", nobody) == ("you are not a guide of this walk",)


def test_an_unnamed_act_is_refused_loudly() -> None:
    with pytest.raises(KeyError):
        may(ACTORS["office"], "walk.burn")
    with pytest.raises(ValueError, match=r"^No rule for the act 'walk\.burn': name it in foraywright/floor/compute/"):
        names_act("walk.burn")
