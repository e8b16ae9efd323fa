"""The risk assessment of a walk on paper, and the check sheet for its day. Neither names nor counts who comes."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any

from curriculum.models import Document
from curriculum.queries import AccountInUse, accounts_in_use
from curriculum.services.want_document import want_document
from foraywright.floor.pdf import Pdf, render_pdf
from foraywright.floor.printing import render_document
from walks.assessment_state import state_of
from walks.assessment_words import causes, changed_facts
from walks.assessments import hazard_library, risk_matrices
from walks.compute.ratios import ratio_statement
from walks.compute.risk_assessment import AssessedHazard, Assessment
from walks.compute.risk_group import COVERS, Coming
from walks.documents import walk_facts
from walks.models import Walk
from walks.queries import WalkLimits, walk_limits
from walks.site_routes import route_drawing, route_facts, route_profile

STOP_RULES = ("lightning", "falling_branches", "tide", "cold_and_wet", "heat_and_sun")
"""Hazards of the library whose controls say when a walk is stopped or not begun."""
SECONDS = 30
FIRST_CONTROLS = 2


def risk_assessment_html(walk: Walk, accounts: Mapping[str, AccountInUse], coming: Coming) -> str:
    """The assessment in force, or the draft where none is signed, with what has made it stale since."""
    return render_document("print/risk_assessment.html", _context(walk, accounts, coming))


def day_check_html(walk: Walk, accounts: Mapping[str, AccountInUse], coming: Coming) -> str:
    """The check sheet for the day: one page to be written on, from the meeting point to the last head count."""
    return render_document("print/day_check.html", _context(walk, accounts, coming))


def day_check_pdf(walk: Walk, coming: Coming) -> Pdf:
    """The check sheet as a PDF, within 30 seconds; it is set on request and not stored. Raises PdfFailed."""
    html = day_check_html(walk, accounts_in_use(), coming)
    return render_pdf(html, identifier=hashlib.sha256(html.encode("utf-8")).hexdigest(), seconds=SECONDS)


def want_risk_assessment(walk: Walk, coming: Coming, now: datetime) -> Document:
    """The risk assessment's document as the facts stand, asked for where it does not exist yet."""
    html = risk_assessment_html(walk, accounts_in_use(), coming)
    return want_document("risk_assessment", walk.public_id, html, now=now)


def _context(walk: Walk, accounts: Mapping[str, AccountInUse], coming: Coming) -> dict[str, Any]:
    state = state_of(walk, accounts, coming)
    printed = state.in_force
    stops = [one for one in printed.hazards if one.key in STOP_RULES]
    return {
        **walk_facts(walk),
        **_allowed(walk_limits(walk)),
        "state": state,
        "covers": COVERS[state.covers],
        "assessment": printed,
        "matrix_title": risk_matrices()[printed.matrix].title,
        "hazards": [(one, causes(one, accounts)) for one in printed.hazards],
        "reasons": changed_facts(state.reasons, state.open_reasons, accounts),
        "stop_rules": stops,
        "short_stops": [(one, one.controls[:FIRST_CONTROLS]) for one in stops],
        "sources": _sources(printed),
        "route": route_facts(walk.site),
        "drawing": route_drawing(walk.site),
        "profile": route_profile(walk.site),
        "own": _own(printed.hazards),
    }


def _allowed(limits: WalkLimits) -> dict[str, Any]:
    """What the walk may take before anybody is counted: each limit in places, and the same with one guide lost."""
    statement = ratio_statement(limits.policy, limits.caps, limits.staff, [])
    lost = statement.one_guide_missing
    without = {line.key: line.allows for line in lost.statement.lines} if lost else {}
    pool = next(line for line in statement.lines if line.key == "pool")
    return {
        "policy": limits.policy,
        "limits": [(line, without.get(line.key)) for line in statement.lines if line.counts_people],
        "checked": pool.allows,
        "checked_lost": without.get("pool", 0),
    }


def _sources(assessment: Assessment) -> list[Any]:
    """The library's sources behind the assessed hazards, in the library's order."""
    named = {title for one in assessment.hazards for title in one.sources}
    return [one for one in hazard_library().sources.values() if one.title in named]


def _own(hazards: Iterable[AssessedHazard]) -> bool:
    """Whether a person added a hazard or scored one anew."""
    return any(one.reason or not one.fired_by for one in hazards)
