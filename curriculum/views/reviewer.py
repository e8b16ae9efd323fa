"""Pages for the reviewer: what is taught, what it rests on, and the signature."""

from __future__ import annotations

from datetime import timedelta
from typing import Any, cast

from crispy_forms.helper import FormHelper
from crispy_forms.layout import Layout, Submit
from django import forms
from django.contrib import messages
from django.db.models import QuerySet
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from curriculum.compute.account_text import account_text
from curriculum.errors import NotRevised, NotSigned
from curriculum.models import AccountVersion, ReviewInvitation, SignOff, Taxon
from curriculum.pairs import dangerous_pairs, review_due
from curriculum.queries import AccountInUse, account_of, accounts_in_use, sheets
from curriculum.services.revise_account import revise_account
from curriculum.services.sign_off_account import Signature, bolder_than_signed, sign_off_account
from curriculum.services.withdraw_account import use_mark, withdraw_account
from foraywright.floor.asking import asks_anew, moved
from foraywright.floor.compute.permissions import Subject, may
from foraywright.floor.door import actor_of, names_act, require
from foraywright.floor.models import Business, User
from foraywright.floor.telling import telling

CHANGED = (
    "This account has changed since the page was made: a newer version is shown now. Nothing was signed. "
    "Read it, then sign it."
)
WITHDRAWING = (
    "This version and every earlier one are out of use at once: on pages, in booklets, in the calendar. Everybody who "
    "holds a copy is told by letter and asked to destroy it. A later draft comes into use when somebody signs it."
)


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
    change_reason = forms.CharField(
        label="What the changes rest on",
        required=False,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="Needed where it claims more than the last signed version",
    )
    version = forms.CharField(max_length=20, widget=forms.HiddenInput)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = FormHelper()
        self.helper.attrs = {"novalidate": ""}
        self.helper.layout = Layout(*self.fields, Submit("send", "Sign this version"))

    def clean_review_by(self) -> Any:
        day = self.cleaned_data["review_by"]
        if day > timezone.localdate() + timedelta(days=366):
            raise forms.ValidationError("Choose a day within a year: names and verdicts move.")
        return day


class ReasonForm(forms.Form):
    """Why a version is withdrawn, as everybody who holds the sheet will read it."""

    reason = forms.CharField(
        label="Why it is withdrawn",
        max_length=1000,
        widget=forms.Textarea(attrs={"rows": 4}),
        help_text="Everybody who holds the sheet reads this, e.g. The stem base was described wrongly.",
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = FormHelper()
        self.helper.form_tag = False
        self.helper.layout = Layout("reason")


class RevisionForm(forms.Form):
    """The whole account as a TOML text, as the files of curriculum/starter/ are written."""

    text = forms.CharField(
        label="The account",
        strip=False,
        widget=forms.Textarea(attrs={"rows": 40, "spellcheck": "false", "class": "textarea mono"}),
        help_text="The words allowed are those of curriculum/vocabulary; a fault names the key and what was expected.",
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = FormHelper()
        self.helper.attrs = {"novalidate": ""}
        self.helper.layout = Layout("text", Submit("send", "Save as a new draft"))


@names_act("account.review")
@require_safe
def staff_curriculum(request: HttpRequest) -> HttpResponse:
    """Every account: unsigned and dangerous ones first."""
    accounts = accounts_in_use()
    pairs = sheets(accounts, accounts)
    pairs.sort(key=lambda pair: (_newest_is_signed(pair[0]), not pair[1].word, pair[1].common))
    rows = [{"one": one, "sheet": sheet, "signed": _newest_is_signed(one)} for one, sheet in pairs]
    return render(request, "curriculum/staff_curriculum.html", {"rows": rows})


def _newest_is_signed(one: AccountInUse) -> bool:
    """Whether nothing of the account waits for a signature. No query where the versions are prefetched."""
    return one.sign_off is not None and one.version == one.taxon.versions.all()[0]


def to_review(in_use: AccountInUse) -> AccountInUse:
    """The newest version that is not withdrawn: a draft waits for its signature while an older one is in use."""
    version = in_use.taxon.versions.filter(withdrawal=None).select_related("sign_off", "taxon").latest("number")
    return AccountInUse(in_use.taxon, version, account_of(version), getattr(version, "sign_off", None))


def account_page(request: HttpRequest, key: str, **beyond: object) -> HttpResponse:
    """One account as the reviewer reads it: the sheet, what each group of facts rests on, and the form to sign.

    `beyond`: what a room above knows of the taxon, for display only; the view that adds it stands there.
    """
    accounts = accounts_in_use()
    if key not in accounts:
        raise Http404
    if request.method == "POST":
        require(request, "account.sign_off", Subject())
    version = to_review(accounts[key]).version
    form = SignOffForm(request.POST or None, initial={"version": version.public_id})
    if request.method == "POST" and form.is_valid() and signs(request, version, form, by=cast("User", request.user)):
        return redirect("staff_account", key)
    context = review_context(version) | {"form": form, "versions": _versions(version.taxon)} | beyond
    context["may_sign"] = not may(actor_of(request), "account.sign_off") and context["one"].sign_off is None
    return render(request, "curriculum/staff_account.html", context, status=422 if form.errors else 200)


def _versions(taxon: Taxon) -> QuerySet[AccountVersion]:
    return taxon.versions.select_related("sign_off").order_by("-number")


def review_context(version: AccountVersion) -> dict[str, Any]:
    """What a reviewer reads of `version`: sheet, pairs, sources, and what it claims beyond the last signed."""
    key = version.taxon.key
    one = AccountInUse(version.taxon, version, account_of(version), getattr(version, "sign_off", None))
    accounts = accounts_in_use() | {key: one}
    [(_, sheet)] = sheets([key], accounts)
    return {
        "one": one,
        "sheet": sheet,
        "pairs": dangerous_pairs(accounts).get(key, ()),
        "review_due": review_due(accounts, today=timezone.localdate()).get(key, ()),
        "bolder": bolder_than_signed(version, accounts),
        "groups": version.fact_groups.prefetch_related("citations__source"),
    }


def signs(request: HttpRequest, version: AccountVersion, form: SignOffForm, *, by: User | ReviewInvitation) -> bool:
    """Sign what the reviewer has read; where that is no longer the newest, show the newest with what was typed."""
    kinds = SignOff.Kind
    if form.cleaned_data.pop("version") != version.public_id:
        form.add_error(None, CHANGED)
        form.data = request.POST.copy()
        form.data["version"] = version.public_id
        return False
    demonstration = Business.objects.filter(is_demonstration=True).exists()
    kind = kinds.DEMONSTRATION if demonstration else kinds.REVIEWED
    scope = by.scope if isinstance(by, ReviewInvitation) else ""
    try:
        sign_off_account(version, Signature(kind=kind, scope=scope, **form.cleaned_data), by=by, now=timezone.now())
    except NotSigned as refused:
        form.add_error(None, refused.sentence)
        return False
    messages.success(request, "Signed.")
    return True


@names_act("account.withdraw")
@require_http_methods(["GET", "HEAD", "POST"])
@asks_anew
def staff_withdraw(request: HttpRequest, key: str) -> HttpResponse:
    """Say what withdrawing does, ask why, and withdraw the version in use."""
    accounts = accounts_in_use()
    if key not in accounts:
        raise Http404
    one = accounts[key]
    seen = use_mark(one.version)
    form, changed = ReasonForm(request.POST or None), moved(request, seen)
    if request.method == "POST" and not changed and form.is_valid():
        with telling(request, "Withdrawn. Letters to everybody who holds the sheet are on their way."):
            by, now = cast("User", request.user), timezone.now()
            withdraw_account(one.version, reason=form.cleaned_data["reason"], seen=seen, by=by, now=now)
        return redirect("staff_curriculum")
    context = {"one": one, "form": form, "will": WITHDRAWING, "seen": seen, "changed": changed}
    status = 409 if changed else 422 if form.errors else 200
    return render(request, "curriculum/staff_withdraw.html", context, status=status)


@names_act("account.revise")
@require_http_methods(["GET", "HEAD", "POST"])
def staff_revise(request: HttpRequest, key: str) -> HttpResponse:
    """The newest version as a text; sent back changed, it is a new draft by whoever sent it."""
    taxon = get_object_or_404(Taxon, key=key)
    newest = taxon.versions.order_by("-number")[0]
    form = RevisionForm(request.POST or None, initial={"text": account_text(account_of(newest))})
    if request.method == "POST" and form.is_valid():
        try:
            revise_account(taxon, form.cleaned_data["text"], by=cast("User", request.user), now=timezone.now())
        except NotRevised as refused:
            for sentence in refused.why:
                form.add_error("text", sentence)
        else:
            messages.success(
                request, "The draft is saved. The signed version stays in use until somebody signs this one."
            )
            return redirect("staff_account", key)
    context = {"taxon": taxon, "newest": newest, "form": form, "name": account_of(newest).vernacular()}
    return render(request, "curriculum/staff_revise.html", context, status=422 if form.errors else 200)


@names_act("account.review")
@require_safe
def staff_account_file(request: HttpRequest, key: str) -> HttpResponse:
    """The newest version of an account as a TOML file."""
    taxon = get_object_or_404(Taxon, key=key)
    text = account_text(account_of(taxon.versions.order_by("-number")[0]))
    answer = HttpResponse(text, content_type="application/toml; charset=utf-8")
    answer["Content-Disposition"] = f'attachment; filename="{taxon.key}.toml"'
    return answer
