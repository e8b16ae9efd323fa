"""Templates: keep an offering, look at what dates would meet, schedule those that are wanted."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from foraywright.floor.asking import Question, asks_once
from foraywright.floor.door import names_act
from walks.errors import TemplateNotSaved, WalkNotScheduled
from walks.models import Offering, OfferingTemplate
from walks.services.rehearse import Rehearsed, rehearse
from walks.services.remove_template import remove_template
from walks.services.save_template import save_template
from walks.services.schedule_walk import Plan, schedule_walk
from walks.template_forms import RepeatForm, SaveTemplateForm
from walks.views.guide import staff

FORM = ["GET", "HEAD", "POST"]


@names_act("template.use")
@require_safe
def staff_templates(request: HttpRequest) -> HttpResponse:
    """All templates, to be scheduled from."""
    templates = OfferingTemplate.objects.select_related("theme").prefetch_related("sessions__site")
    return render(request, "walks/staff_templates.html", {"templates": templates})


@names_act("template.use")
@require_http_methods(FORM)
def staff_template_new(request: HttpRequest, public_id: str) -> HttpResponse:
    """Keep the offering `public_id` as a template."""
    offering = get_object_or_404(Offering, public_id=public_id)
    form = SaveTemplateForm(request.POST or None, initial={"name": offering.title})
    if request.method == "POST" and form.is_valid():
        try:
            template = save_template(offering, form.cleaned_data["name"], by=staff(request), now=timezone.now())
        except TemplateNotSaved as refused:
            form.show(refused)
        else:
            messages.success(request, "It is kept as a template.")
            return redirect("staff_template", template.public_id)
    context = {"form": form, "offering": offering}
    return render(request, "walks/staff_template_new.html", context, status=422 if form.errors else 200)


@names_act("template.use")
@require_http_methods(FORM)
def staff_template(request: HttpRequest, public_id: str) -> HttpResponse:
    """Dates for a template: first what stands in the way of each, then those that are ticked become drafts."""
    template = get_object_or_404(OfferingTemplate.objects.select_related("theme", "prices"), public_id=public_id)
    form = RepeatForm(request.POST or None)
    rehearsed: Rehearsed | None = None
    if request.method == "POST" and form.is_valid():
        plans = form.plans(template)
        if "schedule" in request.POST:
            return _schedule(request, template, [one for one in plans if _day(one) in request.POST.getlist("day")])
        rehearsed = rehearse(plans, by=staff(request), now=timezone.now())
    context = {"template": template, "form": form, "rehearsed": rehearsed, "kept": _kept(request)}
    return render(request, "walks/staff_template.html", context, status=422 if form.errors else 200)


def _day(plan: Plan) -> str:
    return plan.sessions[0].local_date.isoformat()


def _kept(request: HttpRequest) -> list[tuple[str, str]]:
    """What was asked for, to be sent along with the dates that are ticked."""
    return [(name, value) for name in RepeatForm.base_fields for value in request.POST.getlist(name)]


def _schedule(request: HttpRequest, template: OfferingTemplate, plans: list[Plan]) -> HttpResponse:
    """Each date is an act of its own: one that is refused now leaves the others standing, and is named."""
    done = 0
    for plan in plans:
        try:
            schedule_walk(plan, by=staff(request), now=timezone.now())
        except WalkNotScheduled as refused:
            messages.error(request, f"{_day(plan)}: {refused.sentence}")
        else:
            done += 1
    if done:
        messages.success(request, f"{done} draft{'' if done == 1 else 's'} scheduled. Look at each and publish it.")
    elif not plans:
        messages.warning(request, "No date was ticked, so nothing was scheduled.")
    return redirect("staff_walks" if done else "staff_template", *([] if done else [template.public_id]))


@names_act("template.use")
@require_POST
def staff_template_remove(request: HttpRequest, public_id: str) -> HttpResponse:
    """Throw a template away."""
    template = get_object_or_404(OfferingTemplate, public_id=public_id)
    will = f"“{template.name}” is deleted. What was scheduled from it stays."
    back = reverse("staff_template", args=[public_id])
    if page := asks_once(request, Question("Throw this template away?", will, "Throw it away", back)):
        return page
    remove_template(template, by=staff(request), now=timezone.now())
    messages.success(request, "The template is thrown away. What was scheduled from it stays.")
    return redirect("staff_templates")
