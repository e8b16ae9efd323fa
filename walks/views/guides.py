"""The guides: the office sees and edits all, a guide sees their own record and says when they are away."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import date, datetime
from typing import Any

from django.contrib import messages
from django.db.models import ExpressionWrapper, Max, OuterRef, Q, QuerySet, Subquery
from django.db.models.fields import BooleanField
from django.db.models.functions import Coalesce
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from foraywright.floor.asking import Question, asks_once
from foraywright.floor.compute.permissions import Subject
from foraywright.floor.door import actor_of, names_act, require
from foraywright.floor.models import AuditLine
from foraywright.floor.sorted_list import Column, sorted_list
from walks.errors import GuideNotSaved
from walks.form_base import HelpedForm
from walks.guide_forms import AbsenceForm, CertificateForm, GuideForm
from walks.guides import lost_cover, walks_without_cover
from walks.models import Guide, GuideAbsence, GuideCertificate, MayLead, Walk
from walks.services.keep_absence import keep_absence
from walks.services.remove_absence import remove_absence
from walks.services.remove_certificate import remove_certificate
from walks.services.save_certificate import save_certificate
from walks.services.save_guide import save_guide
from walks.views.guide import staff

FORM = ["GET", "HEAD", "POST"]
COLUMNS = (
    Column("Guide", ("no_longer", "name")),
    Column("May lead"),
    Column("First certificate to end", ("first_to_end", "name")),
    Column("Away"),
    Column("Largest group", ("most", "name"), number=True),
    Column("Days a week", ("days_a_week", "name"), number=True),
)


@names_act("guide.see")
@require_safe
def staff_guides(request: HttpRequest) -> HttpResponse:
    """All guides for the office; a guide comes to their own record."""
    actor = actor_of(request)
    if "office" not in actor.roles:
        if actor.guide:
            return redirect("staff_guide", actor.guide)
        return render(request, "walks/staff_guides.html", {"rows": [], "without_record": True})
    found, today = sorted_list(request, _guides(), COLUMNS, first="guide"), timezone.localdate()
    context = {"page": found.page, "heads": found.heads, "rows": [_row(one, today) for one in found.page]}
    return render(request, "walks/staff_guides.html", context)


def _guides() -> QuerySet[Guide]:
    """All guides with what the list sorts by: a guide without a certificate sorts as if none would ever end."""
    newest = GuideCertificate.objects.filter(guide=OuterRef("pk")).order_by().values("kind")
    ends = newest.annotate(last=Max("valid_to")).order_by("last").values("last")
    return Guide.objects.prefetch_related("certificates", "absences").annotate(
        no_longer=ExpressionWrapper(Q(active=False), BooleanField()),
        first_to_end=Coalesce(Subquery(ends[:1]), date.max),
        most=Coalesce("largest_group", 0),
    )


def _row(guide: Guide, today: date) -> dict[str, Any]:
    papers = newest_of_each_kind(guide.certificates.all())
    return {
        "guide": guide,
        "leads": leads_words(guide),
        "next_to_end": min(papers, key=lambda one: one.valid_to, default=None),
        "ended": any(one.valid_to < today for one in papers),
        "away": next((one for one in guide.absences.all() if one.last_day >= today), None),
    }


def newest_of_each_kind(certificates: Iterable[GuideCertificate]) -> list[GuideCertificate]:
    """The certificate of each kind that is in force longest: an older one that was renewed asks for nothing."""
    newest: dict[str, GuideCertificate] = {}
    for one in sorted(certificates, key=lambda one: one.valid_to):
        newest[one.kind] = one
    return list(newest.values())


def leads_words(guide: Guide) -> list[str]:
    """What the guide may lead, in words."""
    return [str(one.label).lower() for one in MayLead if one in guide.may_lead]


@names_act("guide.see")
@require_http_methods(FORM)
def staff_guide(request: HttpRequest, public_id: str) -> HttpResponse:
    """One guide with certificates, absences and walks to come; sent back, it keeps an absence."""
    guide = _guide_or_404(public_id)
    require(request, "guide.see", Subject(guides=frozenset({public_id})))
    now = timezone.now()
    form = AbsenceForm(request.POST or None)

    def keep() -> str:
        keep_absence(guide, form.cleaned_data["first_day"], form.cleaned_data["last_day"], by=staff(request), now=now)
        return "These days are kept free."

    if _done(request, form, keep):
        _say_what_lost_cover(request, guide, now=now)
        return redirect("staff_guide", public_id)
    context = _guide_context(guide, now=now) | {"form": form}
    return render(request, "walks/staff_guide.html", context, status=422 if form.errors else 200)


def _guide_context(guide: Guide, *, now: datetime) -> dict[str, Any]:
    today = timezone.localdate(now)
    coming = guide.walks.filter(ends_at__gt=now, called_off_at=None).select_related("offering__theme", "theme", "site")
    walks = list(coming.prefetch_related("walk_guides__guide__certificates").order_by("starts_at"))
    lost = lost_cover(walks)
    newest = newest_of_each_kind(guide.certificates.all())
    certificates = guide.certificates.order_by("kind", "-valid_to")
    return {
        "guide": guide,
        "leads": leads_words(guide),
        "certificates": [(one, one.valid_to < today, one in newest) for one in certificates],
        "absences": guide.absences.filter(last_day__gte=today),
        "walks": [(walk, lost[walk.pk]) for walk in walks],
        "history": AuditLine.objects.filter(object_id=guide.public_id).order_by("at"),
    }


@names_act("guide.edit")
@require_http_methods(FORM)
def staff_guide_new(request: HttpRequest) -> HttpResponse:
    """Add a guide."""
    return _guide_form(request, None)


@names_act("guide.edit")
@require_http_methods(FORM)
def staff_guide_edit(request: HttpRequest, public_id: str) -> HttpResponse:
    """Change what is recorded of a guide."""
    return _guide_form(request, _guide_or_404(public_id))


def _guide_form(request: HttpRequest, guide: Guide | None) -> HttpResponse:
    form = GuideForm(request.POST or None, initial=GuideForm.of(guide) if guide else None)
    saved: list[Guide] = []

    def save() -> str:
        saved.append(save_guide(form.cleaned_data, guide=guide, by=staff(request), now=timezone.now()))
        return "The guide is saved."

    if _done(request, form, save):
        _say_what_lost_cover(request, saved[0], now=timezone.now())
        return redirect("staff_guide", saved[0].public_id)
    context = {"form": form, "guide": guide}
    return render(request, "walks/staff_guide_form.html", context, status=422 if form.errors else 200)


@names_act("guide.edit")
@require_http_methods(FORM)
def staff_certificate(request: HttpRequest, public_id: str, key: int | None = None) -> HttpResponse:
    """Add a certificate, or put the one with the `key` right."""
    guide = _guide_or_404(public_id)
    certificate = get_object_or_404(guide.certificates, pk=key) if key else None
    form = CertificateForm(request.POST or None, initial=CertificateForm.of(certificate) if certificate else None)

    def save() -> str:
        save_certificate(guide, form.cleaned_data, certificate=certificate, by=staff(request), now=timezone.now())
        return "The certificate is saved."

    if _done(request, form, save):
        _say_what_lost_cover(request, guide, now=timezone.now())
        return redirect("staff_guide", public_id)
    context = {"form": form, "guide": guide, "certificate": certificate}
    return render(request, "walks/staff_certificate.html", context, status=422 if form.errors else 200)


@names_act("guide.edit")
@require_POST
def staff_certificate_remove(request: HttpRequest, public_id: str, key: int) -> HttpResponse:
    """Take a certificate away that was recorded by mistake."""
    certificate = get_object_or_404(GuideCertificate, guide__public_id=public_id, pk=key)
    if page := asks_once(request, _removing(certificate)):
        return page
    remove_certificate(certificate, by=staff(request), now=timezone.now())
    messages.success(request, "The certificate is removed.")
    _say_what_lost_cover(request, certificate.guide, now=timezone.now())
    return redirect("staff_guide", public_id)


@names_act("guide.be_away")
@require_POST
def staff_absence_remove(request: HttpRequest, public_id: str, key: int) -> HttpResponse:
    """The guide is not away after all."""
    require(request, "guide.be_away", Subject(guides=frozenset({public_id})))
    absence = get_object_or_404(GuideAbsence, guide__public_id=public_id, pk=key)
    remove_absence(absence, by=staff(request), now=timezone.now())
    messages.success(request, "These days are no longer kept free.")
    return redirect("staff_guide", public_id)


def _removing(certificate: GuideCertificate) -> Question:
    will = (
        f"The record of “{certificate.title}” of {certificate.guide.name} is deleted. It is for one that was entered "
        "by mistake: one that ran out or was renewed stays, so that walks led under it keep their record."
    )
    back = reverse("staff_certificate", args=[certificate.guide.public_id, certificate.pk])
    return Question("Remove this certificate?", will, "Remove it", back)


def _guide_or_404(public_id: str) -> Guide:
    return get_object_or_404(Guide, public_id=public_id)


def _done(request: HttpRequest, form: HelpedForm, save: Callable[[], str]) -> bool:
    """Whether the form was sent, is whole and was saved; a refusal stands at its field."""
    if request.method != "POST" or not form.is_valid():
        return False
    try:
        messages.success(request, save())
    except GuideNotSaved as refused:
        form.show(refused)
        return False
    return True


def _say_what_lost_cover(request: HttpRequest, guide: Guide, *, now: datetime) -> None:
    """Published walks are never taken back by a record; whoever edits it reads at once which ones it leaves bare."""
    for walk, reasons in walks_without_cover(now=now):
        if _is_on(guide, walk):
            words = f"“{walk.offering.title}” on {walk.local_date:%-d %B %Y} is published and has lost its cover: "
            messages.warning(request, words + " ".join(reasons))


def _is_on(guide: Guide, walk: Walk) -> bool:
    return any(one.guide_id == guide.pk for one in walk.walk_guides.all())
