"""From the front pages, by links alone, one comes to every page; and no link leads nowhere."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from urllib.parse import urlsplit

import pytest
import time_machine
from bs4 import BeautifulSoup
from django.conf import settings
from django.core.management import call_command
from django.test import Client
from django.urls import resolve

from bookings.models import Booking
from bookings.services.booking_link import booking_link
from foraywright.floor.models import User
from foraywright.floor.pdf import Pdf
from tests.conftest import NOW
from tests.house.addresses import our_views
from walks.queries import slug_of

PAGES_OF_ONE_KIND = 3
FIELDS = "input:not([type=hidden]), select, textarea"
# What only some of their kind link to: a full walk its waiting list, a past one the certificates of attendance, a
# booking to come the page of its move. Codes are drawn anew each time, so a few of a kind would be others each time.
MORE_OF_A_KIND = dict.fromkeys(
    ("walk_page", "staff_walk", "staff_declarations", "staff_day_register", "staff_booking"), 20
)
NOT_BY_LINK = {
    "robots": "asked for by crawlers",
    "link_on_its_way": "the answer to a form",
    "staff_publish": "a button",
    "staff_certificates": "on the page of a walk that is over",
    "staff_template_remove": "a button",
    "booking_attendance": "on the page of a booking whose walks are over",
    "booking_confirm": "a button",
    "booking_invoice": "only once one was made",
    "staff_invoice": "only once one was made",
    "booking_extend": "a button",
    "booking_refund": "a button",
    "booking_card": "a button",
    "process_payment": "called by the card provider",
    "staff_write_off": "only where a booking that ended owes something",
    "staff_meeting_point_chargeback": "only where something came at the meeting point",
    "staff_chargeback_back": "only where nobody but the office told of it",
    "staff_chargeback_reopen": "only once the office said what follows",
    "card_done": "the card provider leads back to it",
    "practice_card": "after a button",
    "staff_session_remove": "a button",
    "staff_certificate_remove": "a button",
    "staff_absence_remove": "a button",
    "staff_start": "a button",
    "staff_permission_attach": "a button",
    "staff_site_route": "a button",
    "staff_site_route_end": "a button",
    "staff_document": "only where a letter is attached",
    "staff_document_remove": "a button",
    "staff_settle": "a button",
    "staff_follow_up_done": "a button",
    "staff_declaration": "only where somebody declared",
    "staff_party_access": "only where somebody asked",
    "staff_emergency": "only where somebody declared",
    "staff_cost_remove": "a button",
    "staff_person_link": "a button",
    "staff_person_factor": "a button, where a second factor is set up",
    "staff_search": "a box that sends what is typed",
    "take_up_account": "passed on to whoever is invited",
    "booking_choose_voucher": "a button",
    "booking_pay_by_voucher": "a button",
    "booking_voucher": "only where a voucher came back",
    "voucher_order": "the answer to a form",
    "voucher_order_card": "a button",
    "voucher_order_pdf": "only once a voucher that was ordered is paid",
    "groups_thanks": "the answer to a form",
    "quote_page": "sent to the group that asked",
    "quote_decline": "a button",
    "quote_paper": "sent to the group that asked",
    "register_worker": "fetched by the register's script",
    "staff_copy_ticks": "sent by the register's script",
    "staff_register_copy": "fetched by the register's script",
    "staff_revoke_copy": "a button",
    "staff_day_guide": "a button",
    "staff_day_lead": "a button",
    "staff_document_again": "only where a PDF was given up",
    "staff_walk_up_settle": "a button",
    "staff_discount_end": "a button",
    "staff_find_remove": "a button",
    "staff_group": "only once a group has asked",
    "staff_group_contact": "only once a group has asked",
    "staff_group_export": "a button",
    "staff_group_erase": "a button",
    "staff_quote_again": "a button",
    "staff_quote_withdraw": "a button",
    "staff_private": "a button",
    "staff_letter": "only where a letter goes by post",
    "staff_letter_settle": "a button",
    "staff_letter_text_ours": "a button",
    "staff_message_handle": "a button",
    "staff_message_retry": "a button",
    "staff_guide_feed": "a button",
    "guide_feed": "shown once to the guide whose it is",
    "staff_plan_again": "a button",
    "staff_proposal": "a button",
    "booking_own_link": "a button",
    "booking_names": "on the page of a large party",
    "booking_names_list": "on the page that takes names from a list",
    "staff_export_data": "a button",
    "declare": "passed on by whoever booked",
    "declare_ward": "from the page of a passed-on link",
    "staff_recall": "only where something was withdrawn",
    "recall_acknowledge": "a button in a letter, only where something was withdrawn",
    "review_by_link": "sent to an outside reviewer",
    "sheet_state": "printed on every sheet",
}


@pytest.fixture
def demo(db: None, monkeypatch: pytest.MonkeyPatch) -> object:
    monkeypatch.setattr("bookings.documents.render_pdf", lambda *_, **__: Pdf(b"%PDF-", 1))
    call_command("load_demo", today=NOW.date(), verbosity=0)
    with time_machine.travel(NOW, tick=False):
        yield


def crawl(client: Client, *starts: str) -> set[str]:
    """The names of the addresses that links lead to; a link that is not answered is a fault."""
    found: Counter[str] = Counter()
    waiting, seen = list(starts), set(starts)
    while waiting:
        address = waiting.pop(0)
        name = str(resolve(urlsplit(address).path).url_name)
        found[name] += 1
        if found[name] > MORE_OF_A_KIND.get(name, PAGES_OF_ONE_KIND):
            continue
        answer = client.get(address)
        assert answer.status_code in (200, 202, 302), (address, answer.status_code)
        new = set(_links(answer)) - seen
        seen |= new
        waiting += sorted(new)
    return set(found)


def _links(answer: object) -> list[str]:
    if not answer["Content-Type"].startswith("text/html") or answer.streaming:
        return [answer["Location"]] if answer.status_code == 302 else []
    page = BeautifulSoup(answer.content, "html.parser")
    for why in _why_not_sent(answer, page):
        pytest.fail(f"{answer.request['PATH_INFO']}: {why}")
    links = [one["href"].removeprefix(settings.SITE_ADDRESS) for one in page.select("a[href]")]
    links += [one["action"] for one in page.select("form[method=get][action]")]
    return [one.partition("#")[0] for one in links if one.startswith("/")]


def _why_not_sent(answer: object, page: BeautifulSoup) -> Iterator[str]:
    """What keeps a browser from sending the forms of a page, which a client without one does not notice."""
    forms = page.select("form[method=post]")
    if forms and answer.get("Referrer-Policy") == "no-referrer":
        yield "a browser sends its form with the origin “null”"
    if page.select("form form"):
        yield "a browser's button is in neither form"
    for form in forms:
        if not form.select("[name=csrfmiddlewaretoken]"):
            yield "a form without its seal"
        if form.select(FIELDS) and not form.select("button:not([type=button]), input[type=submit]"):
            yield "a form without a button"
        if form.select("input[type=file]") and form.get("enctype") != "multipart/form-data":
            yield "a form that sends the name of a file, and not the file"


def signed_in(name: str) -> Client:
    client = Client()
    client.force_login(User.objects.get(username=name))
    return client


def test_every_page_is_reached_and_no_link_leads_to_a_closed_door(demo: None) -> None:
    to_come = Booking.objects.filter(state="confirmed", offering__walks__starts_at__gt=NOW)
    own = [booking_link(one.latest("pk"), now=NOW) for one in (to_come, to_come.filter(lift__isnull=False))]
    full = slug_of(Booking.objects.filter(state="waiting").latest("pk").offering.public_id)
    public = crawl(Client(), "/", f"/walks/{full}/", *(f"/booking/{token}/" for token in own))
    staff = crawl(signed_in("olga"), "/staff/") | crawl(signed_in("runa"), "/staff/")
    assert not {name for name in public if name.startswith("staff_")}
    missing = sorted(set(our_views()) - set(NOT_BY_LINK) - public - staff)
    assert not missing, "no link leads to " + ", ".join(missing)
    for guide in ("ines", "tobias"):
        assert {"staff_today", "staff_walks", "staff_walk", "staff_schedule"} <= crawl(signed_in(guide), "/staff/")
