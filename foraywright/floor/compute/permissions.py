"""Who may do what: one pure table. A view names its act; `may` answers with the reasons against it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Actor:
    """Somebody at the door: `roles` of a staff account, none for the public; `guide` = public id of the guide."""

    signed_in: bool = False
    roles: frozenset[str] = frozenset()
    guide: str | None = None


@dataclass(frozen=True, slots=True)
class Subject:
    """What an object-level rule looks at: the public ids of the guides of the walk in question."""

    guides: frozenset[str] = frozenset()


Rule = Callable[[Actor, Subject | None], tuple[str, ...]]


def _anybody(actor: Actor, subject: Subject | None) -> tuple[str, ...]:
    return ()


def _holder_of_a_link(actor: Actor, subject: Subject | None) -> tuple[str, ...]:
    """The link itself is the permission; the view resolves it and answers "not found" where it does not hold."""
    return ()


def _one_of(*roles: str) -> Rule:
    def rule(actor: Actor, subject: Subject | None) -> tuple[str, ...]:
        if actor.roles & set(roles):
            return ()
        return (f"this page is for: {', '.join(roles)}",)

    return rule


def _office_or_guide_of_the_walk(actor: Actor, subject: Subject | None) -> tuple[str, ...]:
    if "office" in actor.roles:
        return ()
    if "guide" not in actor.roles:
        return ("this page is for: office, guides of the walk",)
    if subject is not None and actor.guide not in subject.guides:
        return ("you are not a guide of this walk",)
    return ()


def _office_or_that_guide(actor: Actor, subject: Subject | None) -> tuple[str, ...]:
    """The guide's own record: what it says of certificates and absences is nobody else's business."""
    if "office" in actor.roles:
        return ()
    if "guide" not in actor.roles:
        return ("this page is for: office, guides for their own record",)
    if subject is not None and actor.guide not in subject.guides:
        return ("this is the record of another guide",)
    return ()


_STAFF = _one_of("office", "guide", "reviewer")
_SCHEDULERS = _one_of("office", "guide")

ACTS: Mapping[str, Rule] = {
    "public.read": _anybody,
    "booking.make": _anybody,
    "booking.by_link": _holder_of_a_link,
    "staff.front_page": _STAFF,
    "walk.see": _SCHEDULERS,
    "walk.schedule": _SCHEDULERS,
    "walk.publish": _SCHEDULERS,
    "season.plan": _SCHEDULERS,
    "walk.call_off": _office_or_guide_of_the_walk,
    "walk.print_risk_assessment": _SCHEDULERS,
    "walk.assess": _office_or_guide_of_the_walk,
    "walk.lead": _office_or_guide_of_the_walk,
    "risk_matrix.choose": _one_of("office"),
    "walk.print_register": _office_or_guide_of_the_walk,
    "walk.change": _office_or_guide_of_the_walk,
    "walk.mark_attendance": _office_or_guide_of_the_walk,
    "walk_up.add": _office_or_guide_of_the_walk,
    "walk_up.settle": _one_of("office"),
    "finds.keep": _office_or_guide_of_the_walk,
    "incident.keep": _office_or_guide_of_the_walk,
    "incident.list": _one_of("office"),
    "template.use": _SCHEDULERS,
    "guide.see": _office_or_that_guide,
    "guide.by_link": _holder_of_a_link,
    "guide.be_away": _office_or_that_guide,
    "guide.edit": _one_of("office"),
    "site.see": _SCHEDULERS,
    "site.edit": _SCHEDULERS,
    "booking.see": _one_of("office"),
    "declaration.see": _office_or_guide_of_the_walk,
    "declaration.take": _office_or_guide_of_the_walk,
    "access.answer": _one_of("office"),
    "personal_data.handle": _one_of("office"),
    "looks.see": _one_of("office"),
    "money.see": _one_of("office"),
    "house.keep": _one_of("office"),
    "staff.keep": _one_of("office"),
    "staff.by_link": _holder_of_a_link,
    "booking.cancel": _one_of("office"),
    "letter.settle": _one_of("office"),
    "letter.edit": _one_of("office"),
    "booking.change": _one_of("office"),
    "payment.note": _office_or_guide_of_the_walk,
    "voucher.sell": _SCHEDULERS,
    "money.handle": _one_of("office"),
    "account.review": _one_of("reviewer", "office"),
    "account.sign_off": _one_of("reviewer"),
    "account.withdraw": _one_of("reviewer"),
    "account.revise": _one_of("reviewer", "guide", "office"),
}

FOR_ANYBODY = frozenset(act for act, rule in ACTS.items() if rule in (_anybody, _holder_of_a_link))
"""Acts that ask for no staff account."""


def may(actor: Actor, act: str, subject: Subject | None = None) -> tuple[str, ...]:
    """Return the reasons why `actor` may not do `act` (none: they may).

    Without a subject only the role is asked, which is what a door can know before the object is read.
    Raises KeyError for an act that nobody has named here: an unnamed act is refused, never guessed.
    """
    return ACTS[act](actor, subject)
