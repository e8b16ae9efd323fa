"""How a walk stands with its risk assessment: drafted, signed, stale, cleared. Computed whenever it is read."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from datetime import timedelta
from functools import cached_property
from typing import Any

from django.db.models import Max

from curriculum.queries import AccountInUse
from walks.assessments import House, Known, assessment_of, house
from walks.compute.risk_assessment import Assessment
from walks.compute.risk_edits import HazardEdit, edited, edits_from, faults
from walks.compute.risk_group import Coming, Scope
from walks.compute.risk_record import as_record, from_record
from walks.compute.risk_staleness import Staleness, newer_draft, stale
from walks.models import AssessmentAddition, AssessmentDraft, SignedAssessment, Site, SiteRoute, Walk
from walks.queries import expectation_of, light_at, limits_of, wanted_by

UNSIGNED, STALE, CLEARED, SIGNED = "unsigned", "stale", "cleared", "signed"
HARD_STOPS = frozenset({"first_aider_present"})
"""Facts whose worst value no addition clears; permission, ratio and cover are looked at when a walk starts."""


@dataclass(frozen=True)
class AssessmentState:
    """The draft as it would be signed now, the version in force, and what has happened to that since.

    `reasons`: all that make the version in force stale; `open_reasons`: those that no addition clears.
    `newer`: the version holds, yet one signed now would read differently.
    """

    walk: Walk
    composed: Assessment
    draft: Assessment
    scope: Scope
    edits: tuple[HazardEdit, ...]
    signed: SignedAssessment | None
    reasons: tuple[Staleness, ...]
    additions: tuple[AssessmentAddition, ...]
    newer: bool

    @cached_property
    def open_reasons(self) -> tuple[Staleness, ...]:
        """The reasons that no signed addition clears."""
        cleared = [reason for one in self.additions for reason in one.reasons]
        return tuple(one for one in self.reasons if as_kept(one) not in cleared)

    @property
    def word(self) -> str:
        """The state in one word."""
        if self.signed is None:
            return UNSIGNED
        if self.open_reasons:
            return STALE
        return CLEARED if self.reasons else SIGNED

    @property
    def covers(self) -> str:
        """Whom the version in force is for: of the draft where nothing is signed."""
        return self.signed.covers if self.signed else self.scope.covers

    @property
    def holds(self) -> bool:
        """Whether a walk may start on it: signed, and fresh or cleared."""
        return self.word in (SIGNED, CLEARED)

    @cached_property
    def in_force(self) -> Assessment:
        """What is printed: the signed version, or the draft where nothing is signed."""
        return from_record(json.loads(self.signed.body)["signed"]) if self.signed else self.draft

    @cached_property
    def faults(self) -> tuple[str, ...]:
        """What keeps the draft from being signed."""
        return faults(self.composed, self.edits)

    @cached_property
    def mark(self) -> str:
        """Hash of the draft: who signs names what they saw."""
        return hashlib.sha256(canonical(as_record(self.draft)).encode()).hexdigest()


def canonical(record: Mapping[str, Any]) -> str:
    """Plain data as the one JSON text in which it is kept and hashed: sorted keys, no spaces."""
    return json.dumps(record, ensure_ascii=False, sort_keys=True, separators=(",", ":"), allow_nan=False)


def as_kept(reason: Staleness) -> dict[str, Any]:
    """A reason as an addition keeps it: as it comes back from JSON."""
    kept: dict[str, Any] = json.loads(json.dumps(asdict(reason)))
    return kept


def scope_of(draft: AssessmentDraft | None) -> Scope:
    """Whom the draft is for; everybody where nobody has said otherwise."""
    return Scope(draft.covers, tuple(draft.arranged)) if draft else Scope()


@dataclass(frozen=True, slots=True)
class _Papers:
    """What is kept of one walk's assessment: the draft, and the version signed last."""

    draft: AssessmentDraft | None
    signed: SignedAssessment | None


def state_of(
    walk: Walk, accounts: Mapping[str, AccountInUse], coming: Coming, *, of: House | None = None
) -> AssessmentState:
    """How `walk` stands with its assessment, `coming` being who has a place. Ten queries."""
    return states_of([walk], accounts, {walk.pk: coming}, of=of)[walk.pk]


def states_of(
    walks: Sequence[Walk],
    accounts: Mapping[str, AccountInUse],
    coming: Mapping[int, Coming],
    *,
    of: House | None = None,
) -> dict[int, AssessmentState]:
    """The same of many walks by primary key: ten queries whatever their number, where `with_everything` read them."""
    of = of or house()
    known, papers = _known(walks, accounts), _papers(walks)
    return {walk.pk: _state(walk, known[walk.pk], papers[walk.pk], coming[walk.pk], of) for walk in walks}


def _known(walks: Sequence[Walk], accounts: Mapping[str, AccountInUse]) -> dict[int, Known]:
    """What an assessment reads of each walk before its hazards. Five queries."""
    sites = {walk.site_id for walk in walks}
    limits, wanted = limits_of(walks), wanted_by(walks)
    routes = {one.site_id: one for one in SiteRoute.objects.filter(site__in=sites, current=True).defer("gpx", "points")}
    records = dict(Site.history.filter(id__in=sites).values_list("id").annotate(Max("history_id")).order_by())
    return {
        walk.pk: Known(
            limits[walk.pk],
            light_at(walk.site, walk.local_date),
            expectation_of(walk, dict(accounts), wanted=wanted[walk.pk]),
            _named(routes.get(walk.site_id)),
            records.get(walk.site_id),
        )
        for walk in walks
    }


def _named(route: SiteRoute | None) -> str:
    return f"{route.name}, recorded {route.added_at:%Y-%m-%d %H:%M}" if route else ""


def _papers(walks: Sequence[Walk]) -> dict[int, _Papers]:
    """Draft and version in force of each walk. Three queries."""
    drafts = {one.walk_id: one for one in AssessmentDraft.objects.filter(walk__in=walks)}
    versions = SignedAssessment.objects.filter(walk__in=walks).order_by("number").prefetch_related("additions")
    signed = {one.walk_id: one for one in versions}
    return {walk.pk: _Papers(drafts.get(walk.pk), signed.get(walk.pk)) for walk in walks}


def _state(walk: Walk, known: Known, papers: _Papers, coming: Coming, of: House) -> AssessmentState:
    draft, signed = papers.draft, papers.signed
    scope, edits = scope_of(draft), edits_from(draft.edits) if draft else ()
    composed = assessment_of(walk, known, of, scope, coming, versions=True)
    now = assessment_of(walk, known, of, replace(scope, covers=signed.covers), coming) if signed else None
    was = from_record(json.loads(signed.body)["composed"]) if signed else None
    return AssessmentState(
        walk=walk,
        composed=composed,
        draft=edited(composed, edits, of.matrix, due=(walk.local_date - timedelta(days=1)).isoformat()),
        scope=scope,
        edits=edits,
        signed=signed,
        reasons=stale(was, now) if was and now else (),
        additions=tuple(signed.additions.all()) if signed else (),
        newer=bool(was and now and newer_draft(was, now)),
    )


def hard_stops(reasons: Iterable[Staleness]) -> tuple[Staleness, ...]:
    """Those of the reasons that no addition clears: a first-aider who is not there any more."""
    return tuple(one for one in reasons if one.fact in HARD_STOPS and one.now is not True)
