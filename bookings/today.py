"""What needs a person today: one register of what is looked for, most pressing first, and who may act on it.

A new kind is a function `(now) -> Iterator[Need]` in bookings/needs/ with a fixed number of queries, and a line here;
one that looks into the accounts is `(now, accounts)`, and its line says `ByAccounts`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from functools import cache

from bookings.needs import incidents, making, money, papers, people, walks_ahead
from bookings.needs.need import Need
from curriculum.queries import AccountInUse, accounts_in_use
from foraywright.floor.compute.permissions import Actor, Subject, may


@dataclass(frozen=True, slots=True)
class ByAccounts:
    """A kind that is found in the accounts in use, which are read once for all such kinds."""

    look: Callable[[datetime, Mapping[str, AccountInUse]], Iterator[Need]]


KINDS: tuple[tuple[str, Callable[[datetime], Iterator[Need]] | ByAccounts], ...] = (
    ("house.keep", making.first_walk),
    ("house.keep", making.worker_faults),
    ("house.keep", making.unknown_zone),
    ("booking.see", people.letters),
    ("booking.see", people.to_post),
    ("walk.print_risk_assessment", making.documents),
    ("account.review", people.recalls),
    ("walk.see", walks_ahead.without_cover),
    ("site.see", walks_ahead.outside_permission),
    ("site.see", walks_ahead.uninsured),
    ("walk.assess", ByAccounts(walks_ahead.assessments)),
    ("walk_up.settle", people.walk_ups),
    ("incident.keep", incidents.follow_ups),
    ("walk.call_off", walks_ahead.broken_limits),
    ("walk.call_off", walks_ahead.below_fewest),
    ("access.answer", people.access_needs),
    ("booking.change", people.enquiries),
    ("booking.change", people.declined_quotes),
    ("booking.see", money.refunds),
    ("booking.see", money.unmatched),
    ("booking.see", money.overdue),
    ("booking.see", money.ended_debts),
    ("money.handle", money.bank_lines),
    ("money.handle", money.card_refunds),
    ("money.handle", money.chargebacks),
    ("money.handle", money.card_pages),
    ("booking.see", people.offers),
    ("account.review", ByAccounts(making.reviews)),
    ("site.edit", walks_ahead.unknown_zones),
    ("walk.publish", walks_ahead.out_of_feeds),
    ("walk.schedule", walks_ahead.low_water),
    ("walk.publish", walks_ahead.drafts),
    ("season.plan", making.plans),
    ("site.see", papers.permissions),
    ("site.see", papers.cover),
    ("guide.see", papers.certificates),
    ("account.review", ByAccounts(making.unsigned)),
)
"""The act that whoever reads the line must be allowed, and what is looked for."""


def kinds_of_need(actor: Actor, *, now: datetime) -> list[list[Need]]:
    """What waits for `actor`, kind by kind, empty kinds left out. About fifty queries however much there is."""
    accounts = cache(accounts_in_use)
    allowed = ((act, look) for act, look in KINDS if not may(actor, act))
    asked = ((act, look.look(now, accounts()) if isinstance(look, ByAccounts) else look(now)) for act, look in allowed)
    found = [[one for one in needs if _may_act(actor, act, one)] for act, needs in asked]
    return [kind for kind in found if kind]


def _may_act(actor: Actor, act: str, need: Need) -> bool:
    return need.guides is None or not may(actor, act, Subject(need.guides))


def what_needs_somebody(actor: Actor, *, now: datetime) -> list[Need]:
    """The same as one list."""
    return [one for kind in kinds_of_need(actor, now=now) for one in kind]
