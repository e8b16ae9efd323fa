"""Who came to the past walk of the demo without a booking."""

from __future__ import annotations

from datetime import timedelta
from uuid import uuid4

from bookings.ground_rules import rules_in_force
from bookings.models import WalkUp
from bookings.queries import ADULT
from bookings.services.add_walk_up import CameUnbooked, add_walk_up
from bookings.services.orders import Order
from foraywright.floor.models import User
from walks.models import Walk


def take_on_for_the_demo(walk: Walk, *, by: User) -> None:
    """One adult who stood at the meeting point ten minutes before the start, and paid in cash."""
    name, phone, came_at = "Senna Whinchat", "01632 960 390", walk.starts_at - timedelta(minutes=10)
    order = Order(walk.offering, name, "", phone, (ADULT,), guardian=False, key="", names=(name,))
    came = CameUnbooked(
        event=uuid4(),
        order=order,
        came_at=came_at,
        pays=WalkUp.Pays.CASH,
        heard=WalkUp.Heard.NOTHING,
        rules=rules_in_force(),
        ring=("Bryony Whinchat", "01632 960 391", "sister"),
    )
    add_walk_up(walk, came, by=by, now=came_at)
