"""Put a walk, or a course of several sessions, in the calendar as a draft."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime

from django.utils.text import slugify

from foraywright.floor.acts import By, act, record, require_act
from foraywright.floor.models import PolicyVersion, User
from foraywright.floor.numbering import give_slug
from walks.errors import WalkNotScheduled
from walks.models import Offering, Theme
from walks.services.sessions import Placed, Session, faults_of, place, with_guides_locked, write_walk

SHARE_FOR_A_CERTIFICATE = 75


@dataclass(frozen=True, slots=True)
class Plan:
    """What is to be offered: a theme on one date, or a course on several."""

    title: str
    theme: Theme
    sessions: tuple[Session, ...]
    lead: str = ""
    fewest: int = 4
    prices: PolicyVersion | None = None
    certificate_percent: int = SHARE_FOR_A_CERTIFICATE


@act
def schedule_walk(plan: Plan, *, by: By, now: datetime) -> Offering:
    """Save `plan` as a draft and return it. Raises WalkNotScheduled with every fault by form field.

    The guides' rows are locked: two people scheduling at once could otherwise send one guide out twice, or on more days
    of a week than the guide has. The database refuses the first too, whoever writes.
    """
    return put_in_calendar(plan, by=by, now=now)


def put_in_calendar(plan: Plan, *, by: By, now: datetime) -> Offering:
    """The step of schedule_walk, which a rehearsal takes too."""
    require_act()
    plan = replace(plan, sessions=tuple(with_guides_locked(plan.sessions)))
    if not plan.sessions:
        raise WalkNotScheduled({"local_date": ["There is no date. Choose at least one."]})
    return _write(plan, _placed(plan, now=now), by=by, now=now)


def _placed(plan: Plan, *, now: datetime) -> list[Placed]:
    placed: list[Placed] = []
    faults: dict[int, dict[str, list[str]]] = {}
    for number, session in enumerate(plan.sessions):
        span, wrong = place(session, now=now)
        for field, sentence in (*wrong, *faults_of(session, span, plan.theme, placed, walk=None, now=now)):
            faults.setdefault(number, {}).setdefault(field, []).append(sentence)
        placed += [Placed(session, span)] if span else []
    if faults:
        raise WalkNotScheduled.of_sessions(faults)
    return placed


def _write(plan: Plan, placed: list[Placed], *, by: By, now: datetime) -> Offering:
    offering = Offering.objects.create(
        kind=Offering.Kind.COURSE if len(plan.sessions) > 1 else Offering.Kind.WALK,
        title=plan.title,
        lead=plan.lead,
        theme=plan.theme,
        prices=plan.prices or newest_policy(PolicyVersion.Kind.PRICES),
        ratios=newest_policy(PolicyVersion.Kind.RATIOS),
        refunds=newest_policy(PolicyVersion.Kind.REFUNDS),
        fewest=plan.fewest,
        certificate_percent=plan.certificate_percent,
        created_by=by if isinstance(by, User) else None,
        created_at=now,
    )
    give_slug("offering", _slug(plan), offering.public_id, now=now)
    for number, one in enumerate(placed, start=1):
        write_walk(offering, number, one, now=now)
    record("schedule walk", offering, by=by, now=now, fields=("title", "theme", "site", "date", "guides"))
    return offering


def _slug(plan: Plan) -> str:
    return f"{slugify(plan.title)[:60] or 'walk'}-{plan.sessions[0].local_date:%Y-%m-%d}"


def newest_policy(kind: str) -> PolicyVersion:
    """The policy version that new offerings are sold under."""
    policy = PolicyVersion.objects.filter(kind=kind).order_by("-number").first()
    if policy is None:
        raise WalkNotScheduled({"": [f"There is no policy “{PolicyVersion.Kind(kind).label}” yet. Set one up first."]})
    return policy
