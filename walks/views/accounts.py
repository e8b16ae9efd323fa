"""The staff page of an account, with what the walks of the business found of it."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_http_methods

from curriculum.views.reviewer import account_page
from foraywright.floor.door import names_act
from walks.finds import own_finds


@names_act("account.review")
@require_http_methods(["GET", "HEAD", "POST"])
def staff_account(request: HttpRequest, key: str) -> HttpResponse:
    """The reviewer's page, and our own finds beside it."""
    return account_page(request, key, found=own_finds(key))
