"""Pages on which the risk assessment of a walk is edited, signed and printed."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from bookings.coming import coming_on
from curriculum.queries import accounts_in_use
from foraywright.floor.door import names_act, require
from foraywright.floor.ids import new_public_id
from foraywright.floor.pdf import PdfFailed
from walks.assessment_state import AssessmentState, state_of
from walks.assessment_words import causes, changed_facts
from walks.assessments import house, risk_matrices
from walks.compute.risk_assessment import AssessedHazard
from walks.compute.risk_edits import OWN, HazardEdit
from walks.compute.risk_group import COVERS
from walks.errors import AssessmentNotSigned, DraftNotChanged
from walks.models import Walk
from walks.risk_document import day_check_pdf, want_risk_assessment
from walks.risk_forms import (
    ActionFormSet,
    GroupForm,
    HazardForm,
    MatrixForm,
    SignForm,
    action_rows,
    actions_of,
    initial_of,
)
from walks.services.choose_matrix import choose_matrix
from walks.services.edit_assessment import choose_group, put_to_hazard, take_back
from walks.services.sign_assessment import Signature, sign_assessment
from walks.views.documents import document_answer, pdf_response, session_or_404, subject_of
from walks.views.guide import staff

NEW = "new"


@names_act("walk.print_risk_assessment")
@require_safe
def staff_risk_assessment(request: HttpRequest, public_id: str, number: int) -> HttpResponseBase:
    """The risk assessment of a session as signed, or its draft as the facts stand."""
    walk, now = session_or_404(public_id, number), timezone.now()
    require(request, "walk.print_risk_assessment", subject_of(walk))
    return document_answer(request, want_risk_assessment(walk, coming_on(walk, now=now), now), "risk-assessment")


@names_act("walk.print_risk_assessment")
@require_safe
def staff_day_check(request: HttpRequest, public_id: str, number: int) -> HttpResponse:
    """The check sheet for the day of a session."""
    walk = session_or_404(public_id, number)
    try:
        pdf = day_check_pdf(walk, coming_on(walk, now=timezone.now()))
    except PdfFailed as failed:
        return HttpResponse(f"The check sheet could not be set: {failed} Try again.", status=503)
    return pdf_response(pdf.content, f"check-sheet-{walk.local_date}.pdf")


@names_act("walk.assess")
@require_http_methods(["GET", "HEAD", "POST"])
def staff_assessment(request: HttpRequest, public_id: str, number: int) -> HttpResponse:
    """The composed assessment with what was changed in it; choose the group, or sign."""
    walk, now = session_or_404(public_id, number), timezone.now()
    require(request, "walk.assess", subject_of(walk))
    if "group" in request.POST:
        return _choose_group(request, walk)
    coming = coming_on(walk, now=now)
    state = state_of(walk, accounts_in_use(), coming)
    form = SignForm(request.POST or None, initial={"mark": state.mark})
    if request.method == "POST" and form.is_valid():
        signature = Signature(form.cleaned_data["role"], form.cleaned_data["mark"])
        try:
            signed = sign_assessment(walk, signature, coming, by=staff(request), now=now)
        except AssessmentNotSigned as refused:
            form = SignForm({**request.POST.dict(), "mark": state.mark, "read": ""})
            form.show((refused.happened, *refused.why))
        else:
            messages.success(request, f"Version {signed.number} is signed and frozen.")
            return redirect("staff_assessment", public_id, number)
    context = _page(walk, state) | {"form": form}
    return render(request, "bookings/staff_assessment.html", context, status=422 if form.errors else 200)


def _choose_group(request: HttpRequest, walk: Walk) -> HttpResponse:
    form = GroupForm(request.POST)
    if form.is_valid():
        choose_group(walk, form.scope(), by=staff(request), now=timezone.now())
    else:
        messages.error(request, "The draft was not changed: choose from the list.")
    return redirect("staff_assessment", walk.offering.public_id, walk.number)


def _page(walk: Walk, state: AssessmentState) -> dict[str, Any]:
    accounts = accounts_in_use()
    changed = {one.key for one in state.edits}
    return {
        "walk": walk,
        "start": walk.local_start,
        "state": state,
        "covers": COVERS[state.scope.covers],
        "group_form": GroupForm(initial={"covers": state.scope.covers, "arranged": list(state.scope.arranged)}),
        "hazards": [(one, causes(one, accounts), one.key in changed) for one in state.draft.hazards],
        "reasons": changed_facts(state.reasons, state.open_reasons, accounts),
        "versions": walk.assessments.order_by("-number"),
    }


@names_act("walk.assess")
@require_http_methods(["GET", "HEAD", "POST"])
def staff_hazard(request: HttpRequest, public_id: str, number: int, key: str) -> HttpResponse:
    """One hazard: score it anew, add controls and things to do; or add a hazard (key "new")."""
    walk, now = session_or_404(public_id, number), timezone.now()
    require(request, "walk.assess", subject_of(walk))
    state = state_of(walk, accounts_in_use(), coming_on(walk, now=now))
    edit, hazard = _found(state, key)
    if "take_back" in request.POST:
        take_back(walk, key, by=staff(request), now=now)
        return redirect("staff_assessment", public_id, number)
    form, actions = _forms(request, edit, hazard)
    if request.method == "POST" and form.is_valid() and actions.is_valid():
        put = form.edit(OWN + new_public_id() if key == NEW else key, hazard, actions_of(actions))
        try:
            put_to_hazard(walk, put, state.composed, by=staff(request), now=now)
        except DraftNotChanged as refused:
            form.show(refused.why)
        else:
            messages.success(request, "The draft is changed. It counts once it is signed.")
            return redirect("staff_assessment", public_id, number)
    context = {"walk": walk, "hazard": hazard, "edit": edit, "form": form, "actions": actions}
    wrong = bool(form.errors or any(actions.errors))
    return render(request, "bookings/staff_hazard.html", context, status=422 if wrong else 200)


def _found(state: AssessmentState, key: str) -> tuple[HazardEdit | None, AssessedHazard | None]:
    """What a person put to the hazard `key`, and the hazard as composed. Http404 where there is neither."""
    edit = next((one for one in state.edits if one.key == key), None)
    hazard = next((one for one in state.composed.hazards if one.key == key), None)
    if key != NEW and edit is None and hazard is None:
        raise Http404("This walk has no such hazard.")
    return edit, hazard


def _forms(request: HttpRequest, edit: HazardEdit | None, hazard: AssessedHazard | None) -> tuple[HazardForm, Any]:
    sent = request.POST or None
    form = HazardForm(sent, matrix=house().matrix, own=hazard is None, initial=initial_of(edit, hazard))
    return form, ActionFormSet(sent, initial=action_rows(edit), prefix="action")


@names_act("risk_matrix.choose")
@require_http_methods(["GET", "HEAD", "POST"])
def staff_risk_matrix(request: HttpRequest) -> HttpResponse:
    """The risk matrices with all their cells, and which one the business uses."""
    in_use = house().matrix.key
    form = MatrixForm(request.POST or None, initial={"matrix": in_use})
    if request.method == "POST" and form.is_valid():
        choose_matrix(form.cleaned_data["matrix"], by=staff(request), now=timezone.now())
        messages.success(
            request, "From now on risk is read off this matrix. Assessments signed under another are stale."
        )
        return redirect("staff_risk_matrix")
    tables = [(matrix, _rows(matrix)) for matrix in risk_matrices().values()]
    context = {"form": form, "tables": tables, "in_use": in_use}
    return render(request, "bookings/staff_risk_matrix.html", context, status=422 if form.errors else 200)


def _rows(matrix: Any) -> list[tuple[str, list[str]]]:
    """The cells of a matrix, the likeliest first, severity rising to the right."""
    chances = zip(reversed(matrix.likelihood.steps), reversed(matrix.likelihood.labels), strict=True)
    return [(label, [matrix.cell(step, harm) for harm in matrix.severity.steps]) for step, label in chances]
