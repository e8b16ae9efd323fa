"""Pages on which office and guides ask for a season plan and decide of what it proposes."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from foraywright.floor.door import names_act
from foraywright.floor.telling import telling
from walks.errors import PlanNotAsked
from walks.models import PlanProposal, SeasonPlan
from walks.plan_forms import PlanForm, first_dates
from walks.plan_shown import shown
from walks.season_wanted import wanted_from
from walks.services.ask_for_plan import ask_for_plan
from walks.services.decide_proposal import STATES, decide_proposal
from walks.views.guide import staff


@names_act("season.plan")
@require_http_methods(["GET", "HEAD", "POST"])
def staff_plans(request: HttpRequest) -> HttpResponse:
    """Earlier plans, and the form that asks for one."""
    now = timezone.now()
    form = PlanForm(request.POST or None, initial=first_dates(timezone.localdate(now)))
    if request.method == "POST" and form.is_valid():
        given = form.cleaned_data
        try:
            plan = ask_for_plan(given["first"], given["last"], form.wanted(), by=staff(request), now=now)
        except PlanNotAsked as refused:
            form.add_error(None, refused.sentence)
        else:
            return redirect("staff_plan", plan.public_id)
    context = {"form": form, "plans": SeasonPlan.objects.select_related("asked_by")[:20]}
    return render(request, "walks/staff_plans.html", context, status=422 if form.errors else 200)


@names_act("season.plan")
@require_safe
def staff_plan(request: HttpRequest, public_id: str) -> HttpResponse:
    """One plan: how far it is, or the year that it proposes."""
    plan = get_object_or_404(SeasonPlan, public_id=public_id)
    answer = render(request, "walks/staff_plan.html", {"plan": plan} | _context(plan))
    if plan.done_at is None and plan.given_up_at is None:
        answer["Refresh"] = "4"
    return answer


def _context(plan: SeasonPlan) -> dict[str, Any]:
    return {"shown": shown(plan)} if plan.done_at else {}


@names_act("season.plan")
@require_POST
def staff_plan_again(request: HttpRequest, public_id: str) -> HttpResponse:
    """Ask for the same plan once more: what is recorded now, moving as little as possible."""
    before = get_object_or_404(SeasonPlan, public_id=public_id)
    now = timezone.now()
    first = max(before.first_day, timezone.localdate(now) + timedelta(days=1))
    try:
        plan = ask_for_plan(
            first, before.last_day, wanted_from(before.asked), before=before, by=staff(request), now=now
        )
    except PlanNotAsked as refused:
        messages.error(request, refused.sentence)
        return redirect("staff_plan", public_id)
    return redirect("staff_plan", plan.public_id)


@names_act("season.plan")
@require_POST
def staff_proposal(request: HttpRequest, public_id: str, proposal: str) -> HttpResponse:
    """Accept, drop, pin or leave open one proposal."""
    row = get_object_or_404(PlanProposal, public_id=proposal, plan__public_id=public_id)
    decision = request.POST.get("decision", "")
    if decision not in (*STATES, "accept"):
        messages.error(request, "Nothing was decided: choose one of the buttons.")
        return redirect("staff_plan", public_id)
    with telling(request):
        decide_proposal(row, decision, by=staff(request), now=timezone.now())  # type: ignore[arg-type]
    return redirect(f"{request.path.partition('proposals/')[0]}#{row.public_id}")
