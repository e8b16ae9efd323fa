"""The finds of a walk, entered by those who guide it, and all finds to take away."""

from __future__ import annotations

from collections.abc import Callable
from io import BytesIO
from typing import Any
from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from curriculum.queries import AccountInUse, accounts_in_use
from foraywright.floor.door import names_act, require
from foraywright.floor.models import Business
from walks.compute.darwin_core import archive, occurrence_csv
from walks.errors import FindNotKept
from walks.find_forms import EffortForm, FindForm
from walks.finds import host_label, likely_first, occurrences
from walks.form_base import HelpedForm
from walks.models import Find, FindList, Walk
from walks.services.keep_find import keep_effort, keep_find, remove_find
from walks.views.documents import session_or_404, subject_of
from walks.views.guide import staff


@names_act("finds.keep")
@require_http_methods(["GET", "HEAD", "POST"])
def staff_finds(request: HttpRequest, public_id: str, number: int) -> HttpResponse:
    """The list of one walk, with a short form for the next find."""
    walk, accounts = session_or_404(public_id, number), accounts_in_use()
    require(request, "finds.keep", subject_of(walk))
    kept = FindList.objects.filter(walk=walk).first()
    entered, effort = "event" in request.POST, "effort" in request.POST
    find = FindForm(request.POST if entered else None, accounts=likely_first(walk, accounts))
    listed = EffortForm(request.POST if effort else None, initial=_effort(kept))
    if entered and find.is_valid() and _done(find, lambda: _keep(request, walk, find)):
        return redirect("staff_finds", public_id, number)
    if effort and listed.is_valid() and _done(listed, lambda: _keep_effort(request, walk, listed)):
        return redirect("staff_finds", public_id, number)
    context = {"walk": walk, "start": walk.local_start, "list": kept, "find_form": find, "effort_form": listed}
    context["finds"] = [_row(one, accounts) for one in kept.finds.select_related("taxon")] if kept else []
    wrong = bool(find.errors or listed.errors)
    return render(request, "walks/staff_finds.html", context, status=422 if wrong else 200)


def _effort(kept: FindList | None) -> dict[str, Any]:
    return {"complete": kept.complete, "minutes": kept.minutes, "people": kept.people} if kept else {}


def _row(find: Find, accounts: dict[str, AccountInUse]) -> dict[str, Any]:
    in_use = accounts.get(find.taxon.key) if find.taxon else None
    name = in_use.account.vernacular("en") if in_use else str(find.taxon or "")
    return {"find": find, "name": name, "host": host_label(find.host) if find.host else ""}


def _done(form: HelpedForm, keep: Callable[[], object]) -> bool:
    try:
        keep()
    except FindNotKept as refused:
        form.show(refused)
        return False
    return True


def _keep(request: HttpRequest, walk: Walk, form: FindForm) -> None:
    keep_find(walk, form.found(), by=staff(request), now=timezone.now())
    messages.success(request, "Kept.")


def _keep_effort(request: HttpRequest, walk: Walk, form: EffortForm) -> None:
    keep_effort(walk, **form.cleaned_data, by=staff(request), now=timezone.now())
    messages.success(request, "The list is kept so.")


@names_act("finds.keep")
@require_POST
def staff_find_remove(request: HttpRequest, public_id: str, number: int, key: int) -> HttpResponse:
    """Take out a find that was entered by mistake."""
    walk = session_or_404(public_id, number)
    require(request, "finds.keep", subject_of(walk))
    find = get_object_or_404(Find.objects.select_related("list__walk__offering"), list__walk=walk, pk=key)
    remove_find(find, by=staff(request), now=timezone.now())
    messages.success(request, "Taken out.")
    return redirect("staff_finds", public_id, number)


@names_act("walk.see")
@require_safe
def staff_finds_export(request: HttpRequest, form: str) -> HttpResponse:
    """All finds as Darwin Core: "csv", or "archive" with its description."""
    if form not in ("csv", "archive"):
        raise Http404
    rows = list(occurrences(accounts_in_use()))
    if form == "csv":
        answer = HttpResponse(occurrence_csv(rows), content_type="text/csv; charset=utf-8")
        answer["Content-Disposition"] = 'attachment; filename="finds.csv"'
        return answer
    business, today = Business.objects.get(), timezone.now().date().isoformat()
    title = f"Finds on the walks of {business.name}"
    files = archive(rows, title=title, publisher=business.name, email=business.email, day=today)
    answer = HttpResponse(_zipped(files), content_type="application/zip")
    answer["Content-Disposition"] = 'attachment; filename="finds-darwin-core.zip"'
    return answer


def _zipped(files: dict[str, str]) -> bytes:
    out = BytesIO()
    with ZipFile(out, "w", ZIP_DEFLATED) as written:
        for name, text in files.items():
            written.writestr(ZipInfo(name), text.encode("utf-8"), ZIP_DEFLATED)
    return out.getvalue()
