"""Staff accounts: made by the office, taken up by link, closed at once."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse

from bookings.errors import PolicyNotSet, StaffNotSaved
from bookings.ground_rules import rules_in_force
from bookings.models import RulesAccepted
from bookings.services.book_places import book_places
from bookings.services.change_staff import change_staff
from bookings.services.invite_staff import invite_staff, renew_invitation
from bookings.services.save_business import save_business
from bookings.services.set_policy import set_policy
from bookings.services.take_up_account import take_up_account
from foraywright.floor.models import AuditLine, Business, PolicyVersion, User
from tests.cast import PASSWORD, World
from tests.conftest import NOW
from tests.pages import signed_in
from walks.queries import slug_of

pytestmark = pytest.mark.usefixtures("september")


def test_whoever_is_invited_sets_the_password_once(world: World) -> None:
    user, token = invite_staff("tess", "Tess", ["guide"], by=world.olive, now=NOW)
    assert not user.has_usable_password()
    page, client = reverse("take_up_account", args=[token]), Client()
    assert client.post(page, {"password": "short", "again": "short"}).status_code == 422
    assert client.post(page, {"password": PASSWORD, "again": PASSWORD + "!"}).status_code == 422
    assert client.post(page, {"password": PASSWORD, "again": PASSWORD}).status_code == 302
    assert client.login(username="tess", password=PASSWORD)
    assert client.get(page).status_code == 410
    with pytest.raises(StaffNotSaved):
        take_up_account(token, PASSWORD, now=NOW)


def test_an_old_link_opens_nothing(world: World) -> None:
    user, first = invite_staff("tess", "Tess", ["guide"], by=world.olive, now=NOW)
    second = renew_invitation(user, by=world.olive, now=NOW)
    with pytest.raises(StaffNotSaved):
        take_up_account(first, PASSWORD, now=NOW)
    with pytest.raises(StaffNotSaved):
        take_up_account(second, PASSWORD, now=NOW + timedelta(days=7))
    assert take_up_account(second, PASSWORD, now=NOW) == user
    assert Client().get(reverse("take_up_account", args=["forged"])).status_code == 404


def test_a_closed_account_is_signed_out_at_once(world: World) -> None:
    client = Client()
    client.force_login(world.gwen.user)
    assert client.get("/staff/").status_code == 200
    change_staff(world.gwen.user, ["guide"], active=False, by=world.olive, now=NOW)
    assert client.get("/staff/").status_code == 302


def test_the_last_of_the_office_stays(world: World) -> None:
    for roles, active in ((["guide"], True), (["office"], False)):
        with pytest.raises(StaffNotSaved):
            change_staff(world.olive, roles, active=active, by=world.olive, now=NOW)
    change_staff(world.rosa, ["office", "reviewer"], active=True, by=world.olive, now=NOW)
    change_staff(world.olive, [], active=True, by=world.rosa, now=NOW)
    assert list(User.objects.filter(groups__name="office")) == [world.rosa]


def test_prices_become_a_new_version_in_minor_units(world: World) -> None:
    client = Client()
    client.force_login(world.olive)
    page = reverse("staff_prices")
    bands = PolicyVersion.objects.get(kind="prices").body["by_band"]
    Business.objects.update(vat_number="GB 000 0000 00", jurisdiction="GB-ENG")
    sent = dict.fromkeys(bands, "0.29") | {"vat": "5"}
    assert client.post(page, sent | {"adult": "-1"}).status_code == 422
    assert client.post(page, sent).status_code == 302
    newest = PolicyVersion.objects.filter(kind="prices").latest("number")
    assert newest.number == 2
    assert newest.body == {"currency": "GBP", "vat_basis_points": 500, "by_band": dict.fromkeys(bands, 29)}


def test_terms_that_give_more_for_shorter_notice_are_refused(world: World) -> None:
    client = Client()
    client.force_login(world.olive)
    sent = {"days_1": 14, "percent_1": 50, "days_2": 7, "percent_2": 100, "days_3": 0, "percent_3": 0}
    assert client.post(reverse("staff_refunds"), sent).status_code == 422
    assert client.post(reverse("staff_refunds"), sent | {"percent_2": 50}).status_code == 302
    assert PolicyVersion.objects.filter(kind="refunds").latest("number").number == 2


def test_new_ground_rules_are_read_by_whoever_books_next_and_old_acceptances_stay(world: World, olive: Client) -> None:
    before = book_places(world.order("adult"), by="participant", now=NOW)
    assert olive.post(reverse("staff_ground_rules"), {"rules": " \n "}).status_code == 422
    sent = {"rules": "Stay with the group.\n\nNothing is eaten raw.\n"}
    assert olive.post(reverse("staff_ground_rules"), sent).status_code == 302
    newest = rules_in_force()
    assert (newest.number, newest.body["rules"]) == (2, ["Stay with the group.", "Nothing is eaten raw."])
    form = Client().get(reverse("book", args=[slug_of(world.offering.public_id)])).text
    assert "Nothing is eaten raw." in form
    assert RulesAccepted.objects.get(booking=before).rules.number == 1


def test_the_domain_of_calendar_entries_is_set_once(world: World) -> None:
    save_business({"name": "Other", "calendar_domain": "other.example"}, by=world.olive, now=NOW)
    business = Business.objects.get()
    assert (business.name, business.calendar_domain) == ("Other", "walks.example.org")
    assert AuditLine.objects.filter(act="change business", actor=world.olive.public_id).exists()


def test_the_currency_is_set_once_money_has_moved(world: World, olive: Client) -> None:
    page = reverse("staff_business")
    save_business({"currency": "EUR"}, by=world.olive, now=NOW)
    assert Business.objects.get().currency == "EUR"
    save_business({"currency": "GBP"}, by=world.olive, now=NOW)
    assert not olive.get(page).context["form"].fields["currency"].disabled
    book_places(world.order("adult"), by="participant", now=NOW)
    save_business({"currency": "EUR"}, by=world.olive, now=NOW)
    assert Business.objects.get().currency == "GBP"
    assert olive.get(page).context["form"].fields["currency"].disabled


def test_no_policy_without_a_business(db: None) -> None:
    with pytest.raises(PolicyNotSet):
        set_policy("refunds", {"tiers": []}, "our own rule", by="command", now=NOW)


def test_the_office_keeps_an_address_of_the_owner(real_world: World) -> None:
    office = signed_in(real_world.olive)
    office.post(
        reverse("staff_person_new"),
        {"username": "tess", "name": "Tess", "email": "tess@example.org", "roles": ["guide"]},
    )
    tess = User.objects.get(username="tess")
    assert tess.email == "tess@example.org"
    page = reverse("staff_person", args=[tess.public_id])
    assert 'value="tess@example.org"' in office.get(page).text
    office.post(page, {"roles": ["guide"], "active": "on", "email": "t@example.org"})
    tess.refresh_from_db()
    assert tess.email == "t@example.org"
