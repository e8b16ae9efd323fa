"""Pages for the reviewer: what is taught, what it rests on, and the signature."""

from __future__ import annotations

from datetime import timedelta
from typing import Any, cast

from crispy_forms.helper import FormHelper
from crispy_forms.layout import Layout, Submit
from django import forms
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from curriculum.errors import NotSigned
from curriculum.models import SignOff
from curriculum.pairs import dangerous_pairs, review_due
from curriculum.queries import accounts_in_use, sheets
from curriculum.services.sign_off_account import Signature, sign_off_account
from foraywright.floor.door import names_act
from foraywright.floor.models import Business, User


class SignOffForm(forms.Form):
    """What a signature records beside the name."""

    competence = forms.CharField(
        max_length=300, help_text="What makes you competent for this account, e.g. 15 years of field mycology"
    )
    review_by = forms.DateField(
        label="Review again by", widget=forms.DateInput(attrs={"type": "date"}), help_text="At most a year from now"
    )
    thin_reason = forms.CharField(
        label="Why it is taught although one character decides",
        required=False,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="Needed where a dangerous lookalike is told apart by one character only",
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = FormHelper()
        self.helper.attrs = {"novalidate": ""}
        self.helper.layout = Layout("competence", "review_by", "thin_reason", Submit("send", "Sign this version"))

    def clean_review_by(self) -> Any:
        day = self.cleaned_data["review_by"]
        if day > timezone.localdate() + timedelta(days=366):
            raise forms.ValidationError("Choose a day within a year: names and verdicts move.")
        return day


@names_act("account.review")
@require_safe
def staff_curriculum(request: HttpRequest) -> HttpResponse:
    """Every account: unsigned and dangerous ones first."""
    accounts = accounts_in_use()
    pairs = sheets(accounts, accounts)
    pairs.sort(key=lambda pair: (pair[0].sign_off is not None, not pair[1].word, pair[1].common))
    rows = [{"one": one, "sheet": sheet} for one, sheet in pairs]
    return render(request, "curriculum/staff_curriculum.html", {"rows": rows})


@names_act("account.review")
@require_http_methods(["GET", "HEAD", "POST"])
def staff_account(request: HttpRequest, key: str) -> HttpResponse:
    """One account as the reviewer reads it: the sheet, what each group of facts rests on, and the form to sign."""
    accounts = accounts_in_use()
    if key not in accounts:
        raise Http404
    [(one, sheet)] = sheets([key], accounts)
    form = SignOffForm(request.POST or None)
    if request.method == "POST" and form.is_valid() and _signs(request, one.version, form):
        return redirect("staff_account", key)
    context = {
        "one": one,
        "sheet": sheet,
        "form": form,
        "pairs": dangerous_pairs(accounts).get(key, ()),
        "review_due": review_due(accounts, today=timezone.localdate()).get(key, ()),
        "groups": one.version.fact_groups.prefetch_related("citations__source"),
        "versions": one.taxon.versions.select_related("sign_off").order_by("-number"),
        "may_sign": "reviewer" in request.user.groups.values_list("name", flat=True) and one.sign_off is None,
    }
    return render(request, "curriculum/staff_account.html", context, status=422 if form.errors else 200)


def _signs(request: HttpRequest, version: Any, form: SignOffForm) -> bool:
    kinds = SignOff.Kind
    demonstration = Business.objects.filter(is_demonstration=True).exists()
    try:
        kind = kinds.DEMONSTRATION if demonstration else kinds.REVIEWED
        sign_off_account(
            version, Signature(kind=kind, **form.cleaned_data), by=cast("User", request.user), now=timezone.now()
        )
    except NotSigned as refused:
        form.add_error(None, refused.sentence)
        return False
    messages.success(request, "Signed.")
    return True
