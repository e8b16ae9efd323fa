"""The guides' records: who sees and edits them, and what an edit says of published walks."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from django.test import Client

from foraywright.floor.models import AuditLine
from tests.cast import WALK_DAY, World, make_user
from tests.pages import say_yes, signed_in, words_of
from walks.guides import walks_without_cover
from walks.models import Guide, GuideAbsence, GuideCertificate
from walks.services.publish_walk import publish_walk
from walks.services.schedule_walk import schedule_walk

pytestmark = pytest.mark.usefixtures("september")

LOST = (
    "The certificate “first_aid” (first aid) of Gwen Guide ended on 2 October 2026, before 3 October 2026. Renew it or "
    "choose another guide. Nobody who goes along has a first-aid certificate in force that day."
)


def address(guide: Guide, *more: object) -> str:
    return "/".join(["/staff/guides", guide.public_id, *map(str, more), ""])


def guide_form(**changes: object) -> dict[str, object]:
    values = {"name": "Ivy Newcome", "may_lead": ["fungus", "night"], "largest_group": "8", "days_a_week": "3"}
    return values | {"adult": "on", "active": "on", "user": ""} | changes


def test_a_guide_is_added_and_changed(world: World, olive: Client) -> None:
    answer = olive.post("/staff/guides/new/", guide_form(), follow=True)
    ivy = Guide.objects.get(name="Ivy Newcome")
    assert answer.redirect_chain == [(address(ivy), 302)]
    assert "May lead fungi and walks in the dark" in words_of(answer.content)
    olive.post(address(ivy, "edit"), guide_form(name="Ivy Oldcome", may_lead=[], largest_group=""))
    ivy.refresh_from_db()
    assert (ivy.name, ivy.may_lead, ivy.largest_group, ivy.days_a_week) == ("Ivy Oldcome", [], None, 3)
    acts = list(AuditLine.objects.filter(object_id=ivy.public_id).order_by("pk").values_list("act", flat=True))
    assert acts == ["add guide", "change guide"]


def test_a_login_belongs_to_one_guide(world: World, olive: Client) -> None:
    answer = olive.post("/staff/guides/new/", guide_form(user=world.gwen.user.pk))
    assert answer.status_code == 422
    assert "The login “gwen” belongs to another guide already." in words_of(answer.content)
    assert 'value="Ivy Newcome"' in answer.content.decode()
    assert not Guide.objects.filter(name="Ivy Newcome").exists()


def test_the_list_shows_what_ends_first_and_who_is_away(world: World, olive: Client) -> None:
    GuideCertificate.objects.filter(guide=world.gwen, kind="first_aid").update(valid_to=date(2026, 10, 20))
    GuideAbsence.objects.create(guide=world.harry, first_day=date(2026, 10, 1), last_day=date(2026, 10, 9))
    text = words_of(olive.get("/staff/guides/").content)
    assert "Gwen Guide fungi, plants, seaweeds, walks in the dark and walks with children First aid, 20 October" in text
    assert "1 Oct to 9 Oct 2026" in text


def test_a_guide_sees_their_own_record_and_no_other(world: World) -> None:
    gwen = signed_in(world.gwen.user)
    assert gwen.get("/staff/guides/")["Location"] == address(world.gwen)
    own = words_of(gwen.get(address(world.gwen)).content)
    assert "Change these" not in own
    assert gwen.get(address(world.harry)).status_code == 403
    assert gwen.post(address(world.harry), {"first_day": "2026-10-01", "last_day": "2026-10-02"}).status_code == 403
    assert not GuideAbsence.objects.exists()


def test_a_guide_without_a_record_reads_what_to_do(world: World) -> None:
    answer = signed_in(make_user("nemo", "guide")).get("/staff/guides/")
    assert "Ask the office to join them." in words_of(answer.content)


def test_shortening_a_certificate_says_at_once_which_published_walk_lost_its_cover(world: World, olive: Client) -> None:
    GuideCertificate.objects.filter(guide=world.harry).delete()
    paper = world.gwen.certificates.get(kind="first_aid")
    sent = {"kind": "first_aid", "title": "first_aid", "valid_from": "2026-01-01", "valid_to": "2026-10-02"}
    answer = olive.post(address(world.gwen, "certificates", paper.pk), sent, follow=True)
    text = words_of(answer.content)
    assert f"“The bare wood” on 3 October 2026 is published and has lost its cover: {LOST}" in text
    assert LOST in words_of(olive.get(f"/staff/walks/{world.offering.public_id}/").content)
    assert f"“The bare wood” on 3 October 2026 has lost its cover: {LOST}" in words_of(olive.get("/staff/").content)
    world.offering.refresh_from_db()
    assert world.offering.state == "published"


def test_a_renewal_covers_again(world: World, olive: Client) -> None:
    world.gwen.certificates.filter(kind="first_aid").update(valid_to=WALK_DAY - timedelta(days=1))
    assert "has lost its cover" in words_of(olive.get("/staff/").content)
    sent = {"kind": "first_aid", "title": "New", "valid_from": "2026-09-01", "valid_to": "2029-08-31"}
    text = words_of(olive.post(address(world.gwen, "certificates", "new"), sent, follow=True).content)
    assert "lost its cover" not in text
    assert "renewed" not in text  # the old one still runs until the day before the walk
    assert "has lost its cover" not in words_of(olive.get("/staff/").content)


def test_a_certificate_that_ends_before_it_begins_is_refused(world: World, olive: Client) -> None:
    sent = {"kind": "first_aid", "title": "New", "valid_from": "2026-09-02", "valid_to": "2026-09-01"}
    answer = olive.post(address(world.gwen, "certificates", "new"), sent)
    assert answer.status_code == 422
    assert "would end before it begins. Nothing was saved. Look at the two dates." in words_of(answer.content)


def test_a_certificate_recorded_by_mistake_is_removed(world: World, olive: Client) -> None:
    paper = world.gwen.certificates.get(kind="background_check")
    say_yes(olive, address(world.gwen, "certificates", paper.pk, "remove"))
    assert not GuideCertificate.objects.filter(pk=paper.pk).exists()
    assert AuditLine.objects.filter(object_id=world.gwen.public_id, act="remove certificate").exists()


def test_a_guide_keeps_days_free_and_takes_them_back(world: World) -> None:
    gwen = signed_in(world.gwen.user)
    answer = gwen.post(address(world.gwen), {"first_day": "2026-10-03", "last_day": "2026-10-04"}, follow=True)
    text = words_of(answer.content)
    assert "These days are kept free." in text
    assert "has lost its cover: Gwen Guide is away from 3 October 2026 to 4 October 2026." in text
    [absence] = GuideAbsence.objects.all()
    gwen.post(address(world.gwen, "absences", absence.pk, "remove"))
    assert not GuideAbsence.objects.exists()


def test_an_absence_that_ends_before_it_begins_is_refused(world: World) -> None:
    answer = signed_in(world.gwen.user).post(address(world.gwen), {"first_day": "2026-10-03", "last_day": "2026-10-02"})
    assert answer.status_code == 422
    assert not GuideAbsence.objects.exists()


def test_what_lost_its_cover_costs_no_more_queries_for_more_walks(
    world: World, olive: Client, django_assert_max_num_queries
) -> None:
    for week in range(5):
        plan = world.plan(world.session(local_date=WALK_DAY + timedelta(weeks=week + 1)))
        publish_walk(schedule_walk(plan, by=world.olive, now=world.now), by=world.olive, now=world.now)
    GuideCertificate.objects.filter(kind="first_aid").update(valid_to=date(2026, 9, 30))
    with django_assert_max_num_queries(9):
        assert len(walks_without_cover(now=world.now)) == 6
