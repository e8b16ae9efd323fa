"""Inviting an outside reviewer, and the page on which they read and sign."""

from __future__ import annotations

from typing import Any, cast

from crispy_forms.helper import FormHelper
from crispy_forms.layout import Layout, Submit
from django import forms
from django.conf import settings
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from curriculum.errors import NotInvited
from curriculum.models import ReviewInvitation
from curriculum.queries import accounts_in_use
from curriculum.services.invite_reviewer import invite_reviewer
from curriculum.views.reviewer import SignOffForm, review_context, signs, to_review
from foraywright.floor.door import names_act
from foraywright.floor.links import follow_link
from foraywright.floor.models import User


class InvitationForm(forms.Form):
    """Who is asked, and what makes them competent."""

    name = forms.CharField(max_length=120, help_text="As it will stand under the sheet")
    competence = forms.CharField(max_length=300, help_text="E.g. county recorder of fungi since 2009")
    scope = forms.CharField(
        max_length=300, initial="all facts of the account", help_text="What they are asked to look at"
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = FormHelper()
        self.helper.attrs = {"novalidate": ""}
        self.helper.layout = Layout("name", "competence", "scope", Submit("send", "Make the link"))


@names_act("account.withdraw")
@require_http_methods(["GET", "HEAD", "POST"])
def staff_invite(request: HttpRequest, key: str) -> HttpResponse:
    """Ask who is invited; then show the link, once."""
    accounts = accounts_in_use()
    if key not in accounts:
        raise Http404
    one = to_review(accounts[key])
    form = InvitationForm(request.POST or None)
    context: dict[str, Any] = {"one": one, "form": form}
    if request.method == "POST" and form.is_valid():
        try:
            _, token = invite_reviewer(
                one.version, **form.cleaned_data, by=cast("User", request.user), now=timezone.now()
            )
        except NotInvited as refused:
            form.add_error(None, refused.sentence)
        else:
            context["address"] = settings.SITE_ADDRESS + reverse("review_by_link", args=[token])
    response = render(request, "curriculum/staff_invite.html", context, status=422 if form.errors else 200)
    response["Cache-Control"] = "no-store"
    return response


@names_act("booking.by_link")
@require_http_methods(["GET", "HEAD", "POST"])
def review_by_link(request: HttpRequest, token: str) -> HttpResponse:
    """One account as an outside reviewer reads it, and the form to sign. The link is the permission."""
    found = follow_link("review", token, now=timezone.now())
    if found is None:
        raise Http404
    state, public_id = found
    invitation = ReviewInvitation.objects.select_related("version__taxon", "version__sign_off").get(public_id=public_id)
    response = (
        _review(request, invitation) if state == "live" else render(request, "curriculum/review_over.html", status=410)
    )
    response["Cache-Control"] = "no-store"
    response["Referrer-Policy"] = "same-origin"
    response["X-Robots-Tag"] = "noindex"
    return response


def _review(request: HttpRequest, invitation: ReviewInvitation) -> HttpResponse:
    version = invitation.version
    start = {"version": version.public_id, "competence": invitation.competence}
    form = SignOffForm(request.POST or None, initial=start)
    if request.method == "POST" and form.is_valid() and signs(request, version, form, by=invitation):
        return render(request, "curriculum/review_thanks.html", {"invitation": invitation})
    context = {**review_context(version), "form": form, "invitation": invitation}
    return render(request, "curriculum/review_by_link.html", context, status=422 if form.errors else 200)
