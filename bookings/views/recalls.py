"""Pages of a recall: for whoever holds a withdrawn sheet, and for those who run after the copies."""

from __future__ import annotations

from datetime import datetime

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from bookings.models import Booking, Recall
from bookings.services.settle_recall import settle_recall
from bookings.services.start_recalls import documents_holding
from bookings.views.by_link import by_link_with
from curriculum.models import Withdrawal
from curriculum.queries import account_of
from foraywright.floor.asking import Question, asks_once
from foraywright.floor.door import names_act
from foraywright.floor.telling import telling
from walks.views.guide import staff

BY_STAFF = (Recall.State.RETURNED, Recall.State.GIVEN_UP)


@by_link_with
@require_POST
def recall_acknowledge(
    request: HttpRequest, booking: Booking, token: str, now: datetime, public_id: str
) -> HttpResponse:
    """The holder says that the copy is destroyed."""
    recall = get_object_or_404(Recall, public_id=public_id, booking=booking)
    settle_recall(recall, Recall.State.ACKNOWLEDGED, by="participant", now=now)
    messages.success(request, "Thank you. We have noted that your copy is destroyed.")
    return redirect("booking_page", token)


@names_act("account.review")
@require_safe
def staff_recalls(request: HttpRequest) -> HttpResponse:
    """Every withdrawal, and how many copies are still open."""
    withdrawals = Withdrawal.objects.select_related("version__taxon").order_by("-withdrawn_at")
    rows = [_row(one) for one in withdrawals]
    return render(request, "bookings/staff_recalls.html", {"rows": rows})


def _row(withdrawal: Withdrawal) -> dict[str, object]:
    recalls = list(Recall.objects.filter(withdrawal=withdrawal))
    return {
        "withdrawal": withdrawal,
        "name": account_of(withdrawal.version).vernacular(),
        "all": len(recalls),
        "open": sum(not one.is_settled for one in recalls),
    }


@names_act("account.review")
@require_safe
def staff_recall(request: HttpRequest, key: int) -> HttpResponse:
    """One withdrawal: who holds a copy, what became of it, and how many copies nobody can be asked about."""
    withdrawal = get_object_or_404(Withdrawal.objects.select_related("version__taxon"), pk=key)
    recalls = Recall.objects.filter(withdrawal=withdrawal).select_related("booking__party__contact", "guide")
    context = {
        **_row(withdrawal),
        "recalls": recalls.order_by("state", "pk"),
        "documents": documents_holding(withdrawal),
        "printed": recalls.exclude(printed_by="").count(),
    }
    return render(request, "bookings/staff_recall.html", context)


@names_act("account.review")
@require_POST
def staff_settle(request: HttpRequest, public_id: str) -> HttpResponse:
    """A person says that a copy came back, or gives it up with a reason."""
    recall = get_object_or_404(Recall, public_id=public_id)
    state = request.POST.get("state")
    if state not in BY_STAFF:
        raise Http404
    if state == Recall.State.GIVEN_UP and (page := asks_once(request, _giving_up(recall))):
        return page
    with telling(request):
        settle_recall(recall, state, by=staff(request), reason=request.POST.get("reason", ""), now=timezone.now())
    return redirect("staff_recall", recall.withdrawal_id)


def _giving_up(recall: Recall) -> Question:
    will = "We stop asking after this copy of a withdrawn sheet: it may still be read. Your reason is kept."
    return Question("Give this copy up?", will, "Give it up", reverse("staff_recall", args=[recall.withdrawal_id]))
