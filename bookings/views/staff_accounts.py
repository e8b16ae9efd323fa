"""Staff accounts: the office makes, changes and closes them; whoever is invited sets the password by link."""

from __future__ import annotations

from django.conf import settings
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from bookings.errors import StaffNotSaved
from bookings.house_forms import InviteForm, PasswordForm, StaffForm
from bookings.services.change_staff import change_staff
from bookings.services.invite_staff import invite_staff, renew_invitation
from bookings.services.take_up_account import take_up_account
from foraywright.floor.asking import Question, asks_once
from foraywright.floor.door import names_act
from foraywright.floor.links import follow_link
from foraywright.floor.models import LinkSecret, User
from foraywright.floor.second_factor import has_second_factor, reset_second_factor
from foraywright.floor.telling_staff import NO_ADDRESS, tell_of_reset
from walks.views.guide import staff

FORM = ["GET", "HEAD", "POST"]


@names_act("staff.keep")
@require_safe
def staff_people(request: HttpRequest) -> HttpResponse:
    """All staff accounts, open ones first."""
    users = User.objects.prefetch_related("groups").order_by("-is_active", "username")
    return render(request, "bookings/staff_people.html", {"users": users})


@names_act("staff.keep")
@require_http_methods(FORM)
def staff_person_new(request: HttpRequest) -> HttpResponse:
    """Make an account; then show its link, once."""
    form = InviteForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            user, token = invite_staff(**form.cleaned_data, by=staff(request), now=timezone.now())
        except StaffNotSaved as refused:
            form.show(refused)
        else:
            return _link_once(request, user, token)
    return render(request, "bookings/staff_person_new.html", {"form": form}, status=422 if form.errors else 200)


def _link_once(request: HttpRequest, user: User, token: str) -> HttpResponse:
    link = settings.SITE_ADDRESS + reverse("take_up_account", args=[token])
    answer = render(request, "bookings/staff_person_link.html", {"account": user, "link": link})
    answer["Cache-Control"] = "no-store"
    return answer


@names_act("staff.keep")
@require_http_methods(FORM)
def staff_person(request: HttpRequest, public_id: str) -> HttpResponse:
    """One account: its roles, and whether it is open."""
    user = get_object_or_404(User, public_id=public_id)
    roles = list(user.groups.values_list("name", flat=True))
    form = StaffForm(request.POST or None, initial={"roles": roles, "active": user.is_active, "email": user.email})
    if request.method == "POST" and form.is_valid():
        try:
            change_staff(user, **form.cleaned_data, by=staff(request), now=timezone.now())
        except StaffNotSaved as refused:
            form.show(refused)
        else:
            messages.success(request, f"The account “{user.get_username()}” is kept as you set it.")
            return redirect("staff_people")
    context = {"form": form, "account": user, "second_factor": has_second_factor(user)}
    return render(request, "bookings/staff_person.html", context, status=422 if form.errors else 200)


@names_act("staff.keep")
@require_POST
def staff_person_link(request: HttpRequest, public_id: str) -> HttpResponse:
    """Make a new link for an open account, and show it once."""
    user = get_object_or_404(User, public_id=public_id, is_active=True)
    will = f"Whoever has it can set a new password for {user.username}. It is shown once; an earlier link is dead."
    back = reverse("staff_person", args=[public_id])
    if page := asks_once(request, Question("Make a new link?", will, "Make a new link", back)):
        return page
    return _link_once(request, user, renew_invitation(user, by=staff(request), now=timezone.now()))


@names_act("staff.keep")
@require_POST
def staff_person_factor(request: HttpRequest, public_id: str) -> HttpResponse:
    """Take a lost second factor off an account."""
    user = get_object_or_404(User, public_id=public_id, is_active=True)
    will = (
        f"{user.username} signs in with the password alone until a new one is set up. The recovery codes are dead. "
        f"{'A letter tells them.' if user.email else NO_ADDRESS}"
    )
    back = reverse("staff_person", args=[public_id])
    if page := asks_once(request, Question("Take the second factor off?", will, "Take it off", back)):
        return page
    now = timezone.now()
    if reset_second_factor(user, by=staff(request), now=now):
        messages.success(request, f"It is taken off. {tell_of_reset(user, by=staff(request), now=now)}")
    return redirect("staff_person", public_id)


@names_act("staff.by_link")
@require_http_methods(FORM)
def take_up_account_page(request: HttpRequest, token: str) -> HttpResponse:
    """The page behind the link: set a password, then sign in."""
    now = timezone.now()
    found = follow_link(LinkSecret.Purpose.STAFF, token, now=now)
    if found is None:
        raise Http404
    user = User.objects.filter(public_id=found[1], is_active=True).first()
    form = PasswordForm(request.POST or None, user=user) if user and found[0] == "live" else None
    if request.method == "POST" and form and form.is_valid():
        try:
            take_up_account(token, form.cleaned_data["password"], now=now)
        except StaffNotSaved as refused:
            form.show(refused)
        else:
            messages.success(request, "The password is set. Sign in with it.")
            return redirect("account_login")
    return _by_link(request, user, form)


def _by_link(request: HttpRequest, user: User | None, form: PasswordForm | None) -> HttpResponse:
    status = 410 if form is None else 422 if form.errors else 200
    answer = render(request, "bookings/take_up_account.html", {"form": form, "account": user}, status=status)
    answer["Cache-Control"] = "no-store"
    answer["Referrer-Policy"] = "same-origin"
    return answer
