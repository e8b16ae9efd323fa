"""The office's pages on the business itself: the first steps, its details, its policies."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from bookings.errors import PolicyNotSet
from bookings.first_steps import first_steps
from bookings.house_forms import BusinessForm, GroundRulesForm, RefundsForm
from bookings.price_list_form import PricesForm, price_list_initial
from bookings.services.save_business import save_business
from bookings.services.set_policy import set_policy
from bookings.vat import vat_version_on
from foraywright.floor.door import names_act
from foraywright.floor.models import Business, PolicyVersion
from walks.compute.age_bands import RatioPolicy, policy_from_toml
from walks.form_base import HelpedForm
from walks.policies import default_ratios
from walks.views.guide import staff

KINDS = PolicyVersion.Kind
OUR_TERMS = "our own rule"
PER_CENT = 100


@names_act("house.keep")
@require_safe
def staff_first_steps(request: HttpRequest) -> HttpResponse:
    """What is there and what is missing until the first walk can be published."""
    steps = first_steps(now=timezone.now())
    return render(request, "bookings/staff_first_steps.html", {"steps": steps, "done": sum(one.done for one in steps)})


@names_act("house.keep")
@require_http_methods(["GET", "HEAD", "POST"])
def staff_business(request: HttpRequest) -> HttpResponse:
    """The details of the business."""
    business = Business.objects.first()
    initial = {field: getattr(business, field) for field in BusinessForm.base_fields} if business else {}
    form = BusinessForm(request.POST or None, initial=initial, business=business)
    if request.method == "POST" and form.is_valid():
        save_business(form.cleaned_data, by=staff(request), now=timezone.now())
        messages.success(request, "The details of the business are kept.")
        return redirect("staff_first_steps" if business is None else "staff_business")
    return render(request, "bookings/staff_business.html", {"form": form}, status=422 if form.errors else 200)


@names_act("house.keep")
@require_safe
def staff_policies(request: HttpRequest) -> HttpResponse:
    """Every policy with the version in force."""
    newest = {one.kind: one for one in PolicyVersion.objects.order_by("number")}
    return render(request, "bookings/staff_policies.html", {"rows": [(kind, newest.get(kind)) for kind in KINDS]})


@names_act("house.keep")
@require_http_methods(["GET", "HEAD", "POST"])
def staff_prices(request: HttpRequest) -> HttpResponse:
    """The prices in force, and the form of the next version."""
    business, before = Business.objects.first(), _prices_now()
    form = PricesForm(
        request.POST or None,
        policy=_ratios(),
        business=business,
        today=timezone.localdate(),
        before=before,
        taxed_apart=vat_version_on(timezone.localdate()) is not None,
        initial=price_list_initial(before) if before else {},
    )
    return _policy_page(request, form, KINDS.PRICES, form.body)


@names_act("house.keep")
@require_http_methods(["GET", "HEAD", "POST"])
def staff_refunds(request: HttpRequest) -> HttpResponse:
    """The terms of cancelling in force, and the form of the next version."""
    form = RefundsForm(request.POST or None, initial=_refunds_now())
    return _policy_page(request, form, KINDS.REFUNDS, form.body)


@names_act("house.keep")
@require_http_methods(["GET", "HEAD", "POST"])
def staff_ground_rules(request: HttpRequest) -> HttpResponse:
    """The ground rules in force, and the form of the next version."""
    newest = _newest(KINDS.GROUND_RULES)
    form = GroundRulesForm(request.POST or None, initial={"rules": "\n".join(newest.body["rules"]) if newest else ""})
    return _policy_page(request, form, KINDS.GROUND_RULES, form.body)


@names_act("house.keep")
@require_http_methods(["GET", "HEAD", "POST"])
def staff_ratios(request: HttpRequest) -> HttpResponse:
    """The ratios that ship with the program, with their source, to be put in force."""
    shipped = default_ratios()
    policy = policy_from_toml(shipped)
    if request.method == "POST" and _set(request, KINDS.RATIOS, shipped, policy.source):
        return redirect("staff_policies")
    return render(request, "bookings/staff_ratios.html", {"policy": policy, "now": _newest(KINDS.RATIOS)})


def _policy_page(
    request: HttpRequest, form: HelpedForm, kind: PolicyVersion.Kind, body: Callable[[], dict[str, Any]]
) -> HttpResponse:
    if request.method == "POST" and form.is_valid() and _set(request, kind, body(), OUR_TERMS):
        return redirect("staff_policies")
    context = {"form": form, "kind": kind, "now": _newest(kind)}
    return render(request, "bookings/staff_policy.html", context, status=422 if form.errors else 200)


def _set(request: HttpRequest, kind: PolicyVersion.Kind, body: dict[str, Any], source: str) -> bool:
    try:
        policy = set_policy(kind, body, source, by=staff(request), now=timezone.now())
    except PolicyNotSet as refused:
        messages.error(request, refused.sentence)
        return False
    messages.success(request, f"{policy} is in force for what is scheduled from now on.")
    return True


def _newest(kind: str) -> PolicyVersion | None:
    return PolicyVersion.objects.filter(kind=kind).order_by("-number").first()


def _ratios() -> RatioPolicy:
    newest = _newest(KINDS.RATIOS)
    return policy_from_toml(newest.body if newest else default_ratios())


def _prices_now() -> dict[str, Any]:
    newest = _newest(KINDS.PRICES)
    return newest.body if newest else {}


def _refunds_now() -> dict[str, int]:
    newest = _newest(KINDS.REFUNDS)
    tiers = newest.body["tiers"] if newest else []
    numbered = enumerate(tiers, start=1)
    return {f"{field}_{number}": tier[field] for number, tier in numbered for field in ("days", "percent")}
