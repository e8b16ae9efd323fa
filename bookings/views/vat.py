"""The office's page on value added tax."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from bookings.compute.vat import SUPPLIES, WORDS, Treatment, vat_policy_from
from bookings.errors import PolicyNotSet
from bookings.services.set_policy import set_policy
from bookings.vat import holding, vat_versions
from bookings.vat_form import VatForm, vat_initial
from foraywright.floor.door import names_act
from foraywright.floor.models import Business, PolicyVersion
from walks.views.guide import staff

KIND = PolicyVersion.Kind.VAT


@dataclass(frozen=True, slots=True)
class _Row:
    """One version in words; `cells`: how each kind of supply is taxed."""

    number: int
    from_day: date
    cells: tuple[str, ...]
    source: str


@names_act("house.keep")
@require_http_methods(["GET", "HEAD", "POST"])
def staff_vat(request: HttpRequest) -> HttpResponse:
    """All versions, which of them holds today, and the form of the next."""
    now = timezone.now()
    today, versions = timezone.localdate(now), vat_versions()
    first = (vat_initial(versions[0].body) if versions else {}) | {"from_day": today}
    form = VatForm(request.POST or None, business=Business.objects.first(), today=today, initial=first)
    if request.method == "POST" and form.is_valid() and _set(request, form, now=now):
        return redirect("staff_vat")
    holds = holding(versions, today)
    context = {"form": form, "rows": [_row(one) for one in versions], "holds": holds.number if holds else None}
    return render(request, "bookings/staff_vat.html", context, status=422 if form.errors else 200)


def _set(request: HttpRequest, form: VatForm, *, now: datetime) -> bool:
    try:
        policy = set_policy(KIND, form.body(), form.cleaned_data["source"], by=staff(request), now=now)
    except PolicyNotSet as refused:
        messages.error(request, refused.sentence)
        return False
    day = form.cleaned_data["from_day"]
    messages.success(request, f"{policy} holds for what is sold from {day.day} {day:%B %Y} on.")
    return True


def _row(version: PolicyVersion) -> _Row:
    policy = vat_policy_from(version.body)
    cells = tuple(_words(policy.of(key)) for key in SUPPLIES)
    return _Row(version.number, policy.from_day, cells, version.source)


def _words(one: Treatment) -> str:
    return f"{one.basis_points / 100:g} %, {WORDS[one.category]}" if one.basis_points else WORDS[one.category]
