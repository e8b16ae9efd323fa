"""The office's page of discount codes."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST

from bookings.discount_forms import DiscountForm
from bookings.discounts import uses_by_code
from bookings.models import DiscountCode
from bookings.services.keep_discount_code import end_discount_code, issue_discount_code
from foraywright.floor.asking import Question, asks_once
from foraywright.floor.door import names_act
from walks.views.guide import staff
from walks.views.sites import FORM, done, form_page


@names_act("money.handle")
@never_cache
@require_http_methods(FORM)
def staff_discounts(request: HttpRequest) -> HttpResponse:
    """All codes with how often they were used, and the form for a new one."""
    now = timezone.now()
    form = DiscountForm(request.POST or None, now=now)
    if done(
        request, form, lambda: f"{issue_discount_code(form.terms(), by=staff(request), now=now).code} can be used now."
    ):
        return redirect("staff_discounts")
    used = uses_by_code(now=now)
    codes = DiscountCode.objects.select_related("offering").order_by("-last_day", "code")
    rows = [(one, used.get(one.pk, 0)) for one in codes]
    return form_page(request, "bookings/staff_discounts.html", form, rows=rows, today=timezone.localdate())


@names_act("money.handle")
@require_POST
def staff_discount_end(request: HttpRequest, public_id: str) -> HttpResponse:
    """Let a code be used no more."""
    code = get_object_or_404(DiscountCode, public_id=public_id)
    will = f"{code.code} cannot be used any more. Bookings that used it keep what it gave."
    if page := asks_once(request, Question(f"End {code.code}?", will, "End it", reverse("staff_discounts"))):
        return page
    end_discount_code(code, by=staff(request), now=timezone.now())
    messages.success(request, f"{code.code} cannot be used any more. Bookings that used it keep what it gave.")
    return redirect("staff_discounts")
