"""Who may open what: every address times everybody who could stand at the door. A new address must be declared here."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from bookings.models import Booking
from bookings.services.book_places import book_places
from bookings.services.booking_link import booking_link
from curriculum.models import Document
from curriculum.services.load_starter import load_starter
from foraywright.floor.compute.permissions import ACTS
from foraywright.floor.pdf import Pdf
from tests.cast import World, make_user
from tests.conftest import NOW
from tests.curriculum.garlic import garlic_files
from tests.house.addresses import our_views
from walks.models import InsuranceCover
from walks.queries import slug_of

STAFF = {"office", "guide of the walk", "other guide", "reviewer"}
GUIDES = {"guide of the walk", "other guide"}
EVERYBODY = {"anonymous", "no role"} | STAFF

WALK, SESSION = "public id of the offering", "its first session"
SLUG, TOKEN, CODE, TAXON = "slug of the walk", "token of the link", "code of the booking", "taxon"
GUIDE = "public id of the guide of the walk"
SITE, PERMISSION, COVER = "the wood", "its permission", "the cover"
SHEET, NONE = "sheet", "nothing of that kind"

PAGES: dict[str, tuple[tuple[str, ...], set[str]]] = {
    "robots": ((), EVERYBODY),
    "programme": ((), EVERYBODY),
    "courses": ((), EVERYBODY),
    "species_list": ((), EVERYBODY),
    "species_page": ((TAXON,), EVERYBODY),
    "species_sheet": ((TAXON,), EVERYBODY),
    "sheet_state": ((SHEET,), EVERYBODY),
    "cautions": ((), EVERYBODY),
    "privacy": ((), EVERYBODY),
    "calendar_page": ((), EVERYBODY),
    "walks_feed": ((), EVERYBODY),
    "species_feed": ((), EVERYBODY),
    "site_feed": ((NONE,), EVERYBODY),
    "theme_feed": ((NONE,), EVERYBODY),
    "guide_feed": ((NONE,), EVERYBODY),
    "walk_page": ((SLUG,), EVERYBODY),
    "walk_ics": ((SLUG,), EVERYBODY),
    "walk_handout": ((SLUG,), EVERYBODY),
    "walk_key": ((SLUG,), EVERYBODY),
    "walk_key_step": ((SLUG, "plants"), EVERYBODY),
    "book": ((SLUG,), EVERYBODY),
    "join_list": ((SLUG,), EVERYBODY),
    "find_booking": ((), EVERYBODY),
    "groups": ((), EVERYBODY),
    "groups_thanks": ((), EVERYBODY),
    "give_voucher": ((), EVERYBODY),
    "voucher_order": ((NONE,), EVERYBODY),
    "voucher_order_card": ((NONE,), EVERYBODY),
    "voucher_order_pdf": ((NONE,), EVERYBODY),
    "quote_page": ((NONE,), EVERYBODY),
    "quote_decline": ((NONE,), EVERYBODY),
    "quote_paper": ((NONE,), EVERYBODY),
    "link_on_its_way": ((), EVERYBODY),
    "booking_page": ((TOKEN,), EVERYBODY),
    "booking_ics": ((TOKEN,), EVERYBODY),
    "booking_cancel": ((TOKEN,), EVERYBODY),
    "booking_getting_there": ((TOKEN,), EVERYBODY),
    "booking_names": ((TOKEN,), EVERYBODY),
    "booking_names_list": ((TOKEN,), EVERYBODY),
    "booking_lifts": ((TOKEN,), EVERYBODY),
    "booking_attendance": ((TOKEN,), EVERYBODY),
    "booking_change": ((TOKEN,), EVERYBODY),
    "booking_move": ((TOKEN,), EVERYBODY),
    "booking_confirm": ((TOKEN,), EVERYBODY),
    "booking_extend": ((TOKEN,), EVERYBODY),
    "booking_refund": ((TOKEN,), EVERYBODY),
    "booking_card": ((TOKEN,), EVERYBODY),
    "process_payment": ((NONE,), EVERYBODY),
    "card_done": ((NONE,), EVERYBODY),
    "practice_card": ((NONE,), EVERYBODY),
    "booking_handout": ((TOKEN,), EVERYBODY),
    "booking_declarations": ((TOKEN,), EVERYBODY),
    "booking_declare": ((TOKEN, NONE), EVERYBODY),
    "booking_own_link": ((TOKEN, NONE), EVERYBODY),
    "declare": ((NONE,), EVERYBODY),
    "declare_ward": ((NONE, NONE), EVERYBODY),
    "recall_acknowledge": ((TOKEN, NONE), EVERYBODY),
    "staff_today": ((), STAFF),
    "staff_walks": ((), {"office"} | GUIDES),
    "staff_schedule": ((), {"office"} | GUIDES),
    "staff_plans": ((), {"office"} | GUIDES),
    "staff_plan": ((NONE,), {"office"} | GUIDES),
    "staff_plan_again": ((NONE,), {"office"} | GUIDES),
    "staff_proposal": ((NONE, NONE), {"office"} | GUIDES),
    "staff_walk": ((WALK,), {"office"} | GUIDES),
    "staff_publish": ((WALK,), {"office"} | GUIDES),
    "staff_templates": ((), {"office"} | GUIDES),
    "staff_template": ((NONE,), {"office"} | GUIDES),
    "staff_template_remove": ((NONE,), {"office"} | GUIDES),
    "staff_template_new": ((WALK,), {"office"} | GUIDES),
    "staff_course_new": ((), {"office"} | GUIDES),
    "staff_offering_edit": ((WALK,), {"office", "guide of the walk"}),
    "staff_session_new": ((WALK,), {"office", "guide of the walk"}),
    "staff_session_change": ((WALK, SESSION), {"office", "guide of the walk"}),
    "staff_session_content": ((WALK, SESSION), {"office", "guide of the walk"}),
    "staff_session_remove": ((WALK, SESSION), {"office"} | GUIDES),
    "staff_arrivals": ((WALK, SESSION), {"office", "guide of the walk"}),
    "staff_attendance": ((WALK, SESSION), {"office", "guide of the walk"}),
    "staff_certificates": ((WALK,), {"office", "guide of the walk"}),
    "staff_call_off": ((WALK,), {"office", "guide of the walk"}),
    "staff_document_again": ((NONE,), {"office"} | GUIDES),
    "staff_handout": ((WALK, SESSION), {"office"} | GUIDES),
    "staff_risk_assessment": ((WALK, SESSION), {"office"} | GUIDES),
    "staff_day_check": ((WALK, SESSION), {"office"} | GUIDES),
    "staff_assessment": ((WALK, SESSION), {"office", "guide of the walk"}),
    "staff_hazard": ((WALK, SESSION, "new"), {"office", "guide of the walk"}),
    "staff_on_the_day": ((WALK, SESSION), {"office", "guide of the walk"}),
    "staff_start": ((WALK, SESSION), {"office"} | GUIDES),
    "staff_weather": ((WALK, SESSION), {"office", "guide of the walk"}),
    "staff_risk_matrix": ((), {"office"}),
    "staff_register": ((WALK, SESSION), {"office", "guide of the walk"}),
    "staff_finds": ((WALK, SESSION), {"office", "guide of the walk"}),
    "staff_walk_incidents": ((WALK, SESSION), {"office", "guide of the walk"}),
    "staff_incidents": ((), {"office"}),
    "staff_incident": ((NONE,), {"office"} | GUIDES),
    "staff_follow_up_done": ((NONE,), {"office"} | GUIDES),
    "staff_find_remove": ((WALK, SESSION, "1"), {"office"} | GUIDES),
    "staff_finds_export": (("csv",), {"office"} | GUIDES),
    "staff_day_register": ((WALK, SESSION), {"office", "guide of the walk"}),
    "staff_register_history": ((WALK, SESSION), {"office", "guide of the walk"}),
    "staff_declare": ((WALK, SESSION, NONE), {"office", "guide of the walk"}),
    "staff_walk_ups": ((WALK, SESSION), {"office", "guide of the walk"}),
    "staff_walk_up_settle": ((NONE,), {"office"}),
    "staff_emergency": ((WALK, SESSION, NONE), {"office", "guide of the walk"}),
    "staff_register_copy": ((WALK, SESSION), {"office"} | GUIDES),
    "staff_copy_ticks": ((WALK, SESSION, NONE), {"office", "guide of the walk"}),
    "staff_revoke_copy": ((WALK, SESSION, NONE), {"office"} | GUIDES),
    "staff_day_guide": ((WALK, SESSION, NONE), {"office"} | GUIDES),
    "staff_day_lead": ((WALK, SESSION, NONE), {"office"} | GUIDES),
    "register_shell": ((), EVERYBODY),
    "register_worker": ((), EVERYBODY),
    "staff_declarations": ((WALK, SESSION), {"office", "guide of the walk"}),
    "staff_party_access": ((WALK, SESSION, NONE), {"office", "guide of the walk"}),
    "staff_declaration": ((WALK, SESSION, NONE), {"office", "guide of the walk"}),
    "staff_access_needs": ((), {"office"}),
    "staff_access_need": ((NONE,), {"office"}),
    "staff_looks": ((), {"office"}),
    "staff_vouchers": ((), {"office"} | GUIDES),
    "staff_voucher": ((NONE,), {"office"} | GUIDES),
    "staff_voucher_pdf": ((NONE,), {"office"} | GUIDES),
    "staff_voucher_refund": ((NONE,), {"office"}),
    "staff_voucher_chargeback": ((NONE,), {"office"}),
    "booking_pay_by_voucher": ((TOKEN,), EVERYBODY),
    "booking_choose_voucher": ((TOKEN,), EVERYBODY),
    "booking_voucher": ((TOKEN, NONE), EVERYBODY),
    "staff_discounts": ((), {"office"}),
    "staff_discount_end": ((NONE,), {"office"}),
    "staff_takings": ((WALK,), {"office"}),
    "staff_cost_remove": ((NONE,), {"office"}),
    "staff_season": ((), {"office"}),
    "staff_season_file": (("csv",), {"office"}),
    "staff_personal_data": ((CODE,), {"office"}),
    "staff_export_data": ((CODE,), {"office"}),
    "staff_erase": ((CODE,), {"office"}),
    "staff_groups": ((), {"office"}),
    "staff_group": ((NONE,), {"office"}),
    "staff_group_contact": ((NONE,), {"office"}),
    "staff_group_export": ((NONE,), {"office"}),
    "staff_group_erase": ((NONE,), {"office"}),
    "staff_quote_again": ((NONE,), {"office"}),
    "staff_quote_withdraw": ((NONE,), {"office"}),
    "staff_contact": ((CODE,), {"office"}),
    "staff_private": ((WALK,), {"office"}),
    "staff_book": ((WALK,), {"office"}),
    "staff_post": ((), {"office"}),
    "staff_letter": ((NONE,), {"office"}),
    "staff_letter_settle": ((NONE,), {"office"}),
    "staff_bookings": ((), {"office"}),
    "staff_booking": ((CODE,), {"office"}),
    "staff_outbox": ((), {"office"}),
    "staff_letter_texts": ((), {"office"}),
    "staff_letter_text": (("confirmation",), {"office"}),
    "staff_letter_text_ours": (("confirmation",), {"office"}),
    "staff_message": ((NONE,), {"office"}),
    "staff_message_retry": ((NONE,), {"office"}),
    "staff_message_handle": ((NONE,), {"office"}),
    "staff_cancel": ((CODE,), {"office"}),
    "staff_payment": ((CODE,), {"office", "guide of the walk"}),
    "staff_refund": ((CODE,), {"office"}),
    "staff_write_off": ((CODE,), {"office"}),
    "staff_money": ((), {"office"}),
    "staff_papers": ((), {"office"}),
    "staff_bank_line": ((NONE,), {"office"}),
    "staff_cards": ((), {"office"}),
    "staff_card_payment": ((NONE,), {"office"}),
    "staff_meeting_point_chargeback": ((CODE,), {"office"}),
    "staff_chargeback": ((NONE,), {"office"}),
    "staff_chargeback_reopen": ((NONE,), {"office"}),
    "staff_chargeback_back": ((NONE,), {"office"}),
    "staff_payout_back": ((NONE,), {"office"}),
    "booking_invoices": ((TOKEN,), EVERYBODY),
    "booking_invoice": ((TOKEN, NONE), EVERYBODY),
    "staff_invoices": ((CODE,), {"office"}),
    "staff_invoice": ((CODE, NONE), {"office"}),
    "staff_sites": ((), {"office"} | GUIDES),
    "staff_site_new": ((), {"office"} | GUIDES),
    "staff_site": ((SITE,), {"office"} | GUIDES),
    "staff_site_edit": ((SITE,), {"office"} | GUIDES),
    "staff_site_route": ((SITE,), {"office"} | GUIDES),
    "staff_site_route_end": ((SITE,), {"office"} | GUIDES),
    "staff_site_gpx": ((SITE,), {"office"} | GUIDES),
    "staff_permission_new": ((SITE,), {"office"} | GUIDES),
    "staff_permission": ((PERMISSION,), {"office"} | GUIDES),
    "staff_permission_attach": ((PERMISSION,), {"office"} | GUIDES),
    "staff_document": ((NONE,), {"office"} | GUIDES),
    "staff_document_remove": ((NONE,), {"office"} | GUIDES),
    "staff_covers": ((), {"office"} | GUIDES),
    "staff_cover_new": ((), {"office"} | GUIDES),
    "staff_cover": ((COVER,), {"office"} | GUIDES),
    "staff_change": ((CODE,), {"office"}),
    "staff_move": ((CODE,), {"office"}),
    "staff_guides": ((), {"office"} | GUIDES),
    "staff_guide_feed": ((GUIDE,), {"office"} | GUIDES),
    "staff_guide": ((GUIDE,), {"office", "guide of the walk"}),
    "staff_guide_new": ((), {"office"}),
    "staff_guide_edit": ((GUIDE,), {"office"}),
    "staff_certificate_new": ((GUIDE,), {"office"}),
    "staff_certificate": ((GUIDE, "1"), {"office"}),
    "staff_certificate_remove": ((GUIDE, "1"), {"office"}),
    "staff_absence_remove": ((GUIDE, "1"), {"office"} | GUIDES),
    "staff_curriculum": ((), {"office", "reviewer"}),
    "staff_audit": ((), {"office", "reviewer"}),
    "staff_pair": ((TAXON, "arum-maculatum"), {"office", "reviewer"}),
    "staff_export": (("csv",), {"office", "reviewer"}),
    "staff_account": ((TAXON,), {"office", "reviewer"}),
    "staff_account_file": ((TAXON,), {"office", "reviewer"}),
    "staff_revise": ((TAXON,), {"office", "reviewer"} | GUIDES),
    "staff_invite": ((TAXON,), {"reviewer"}),
    "review_by_link": ((NONE,), EVERYBODY),
    "staff_withdraw": ((TAXON,), {"reviewer"}),
    "staff_recalls": ((), {"office", "reviewer"}),
    "staff_recall": (("1",), {"office", "reviewer"}),
    "staff_settle": ((NONE,), {"office", "reviewer"}),
    "staff_search": ((), STAFF),
    "staff_acts": ((), {"office"}),
    "staff_first_steps": ((), {"office"}),
    "staff_business": ((), {"office"}),
    "staff_policies": ((), {"office"}),
    "staff_prices": ((), {"office"}),
    "staff_refunds": ((), {"office"}),
    "staff_vat": ((), {"office"}),
    "staff_vat_return": ((), {"office"}),
    "staff_vat_return_file": ((), {"office"}),
    "staff_ground_rules": ((), {"office"}),
    "staff_ratios": ((), {"office"}),
    "staff_people": ((), {"office"}),
    "staff_person_new": ((), {"office"}),
    "staff_person": ((NONE,), {"office"}),
    "staff_person_link": ((NONE,), {"office"}),
    "staff_person_factor": ((NONE,), {"office"}),
    "take_up_account": ((NONE,), EVERYBODY),
    "staff_season_copy": ((), {"office"} | GUIDES),
    "staff_themes": ((), {"office"} | GUIDES),
    "staff_theme_new": ((), {"office"} | GUIDES),
    "staff_theme": ((NONE,), {"office"} | GUIDES),
}


@pytest.fixture(autouse=True)
def _september(monkeypatch: pytest.MonkeyPatch) -> object:
    monkeypatch.setattr("bookings.documents.render_pdf", lambda *_, **__: Pdf(b"%PDF-", 1))
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def doors(world: World, tmp_path: Path) -> dict[str, str]:
    """The address of every page, with objects of the cast."""
    load_starter(garlic_files(tmp_path), by="command", now=NOW)
    world.offering.walks.get().walk_guides.filter(guide=world.harry).delete()
    booking: Booking = book_places(world.order(), by="participant", now=NOW)
    sheet = Document.objects.create(
        kind="sheet", subject_id="x", manifest={}, manifest_hash="0" * 64, wanted_at=NOW, due_at=NOW + timedelta(days=9)
    )
    words = {
        WALK: world.offering.public_id,
        SESSION: "1",
        SLUG: slug_of(world.offering.public_id),
        TOKEN: booking_link(booking, now=NOW),
        CODE: booking.code,
        TAXON: "allium-ursinum",
        GUIDE: world.gwen.public_id,
        SITE: world.wood.public_id,
        PERMISSION: world.wood.permissions.get().public_id,
        COVER: InsuranceCover.objects.get().public_id,
        SHEET: sheet.public_id,
        NONE: "nothing",
    }
    return {name: reverse(name, args=[words.get(one, one) for one in args]) for name, (args, _) in PAGES.items()}


@pytest.fixture
def everybody(world: World) -> dict[str, Client]:
    """A client for each who could stand at the door."""
    users = {
        "no role": make_user("nobody"),
        "office": world.olive,
        "guide of the walk": world.gwen.user,
        "other guide": world.harry.user,
        "reviewer": world.rosa,
    }
    clients = {"anonymous": Client()} | {who: Client() for who in users}
    for who, user in users.items():
        clients[who].force_login(user)
    return clients


def refused(client: Client, address: str, method: str) -> bool:
    """Whether the door stays shut: sent to the login page, 403, or nothing can be sent there at all."""
    answer = getattr(client, method)(address)
    assert answer.status_code < 500, (address, answer.status_code)
    to_login = answer.status_code == 302 and answer["Location"].startswith("/accounts/login/?next=")
    return to_login or answer.status_code == 403 or (method, answer.status_code) == ("post", 405)


def test_every_address_is_declared_with_an_act() -> None:
    views = our_views()
    assert set(views) == set(PAGES)
    assert {name for name, view in views.items() if getattr(view, "act", None) not in ACTS} == set()


@pytest.mark.parametrize("name", sorted(PAGES))
def test_who_may_open_it(name: str, doors: dict[str, str], everybody: dict[str, Client]) -> None:
    opened = {who for who, client in everybody.items() if not refused(client, doors[name], "get")}
    assert opened == PAGES[name][1]


@pytest.mark.parametrize("name", sorted(name for name, (_, who) in PAGES.items() if who != EVERYBODY))
def test_who_may_not_read_may_not_send_either(name: str, doors: dict[str, str], everybody: dict[str, Client]) -> None:
    others = {who: client for who, client in everybody.items() if who not in PAGES[name][1]}
    assert {who for who, client in others.items() if not refused(client, doors[name], "post")} == set()


def test_who_may_not_come_in_reads_why(doors: dict[str, str], everybody: dict[str, Client]) -> None:
    answer = everybody["reviewer"].get(doors["staff_booking"])
    assert answer.status_code == 403
    assert "this page is for: office" in answer.content.decode().lower()


def test_a_browser_keeps_no_page_of_staff_for_whoever_sits_there_next(
    doors: dict[str, str], everybody: dict[str, Client]
) -> None:
    of_staff = {name for name, (_, who) in PAGES.items() if who != EVERYBODY}
    told = {name: everybody["office"].get(doors[name]).get("Cache-Control", "") for name in of_staff}
    assert {name: words for name, words in told.items() if "no-store" not in words} == {}


def test_a_view_without_an_act_is_refused(everybody: dict[str, Client], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delattr(our_views()["programme"], "act")
    assert {who: client.get("/").status_code for who, client in everybody.items()} == dict.fromkeys(EVERYBODY, 403)


def test_nobody_signs_themselves_up(everybody: dict[str, Client]) -> None:
    from foraywright.floor.models import User

    before = User.objects.count()
    sent = {"username": "new", "password1": "a long enough pass phrase"}
    answer = everybody["anonymous"].post("/accounts/signup/", sent)
    assert answer.status_code == 200
    assert User.objects.count() == before
