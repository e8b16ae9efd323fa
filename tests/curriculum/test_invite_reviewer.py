"""An outside reviewer comes by a link that is shown once, reads one version, and signs it in their own name."""

from __future__ import annotations

import re
from datetime import datetime, timedelta
from pathlib import Path

import pytest
import time_machine
from django.test import Client

from curriculum.compute.account_text import account_text
from curriculum.errors import NotInvited, NotSigned
from curriculum.models import SignOff
from curriculum.queries import account_of, accounts_in_use
from curriculum.services.invite_reviewer import invite_reviewer
from curriculum.services.load_starter import load_starter
from curriculum.services.revise_account import revise_account
from curriculum.services.sign_off_account import Signature, sign_off_account
from foraywright.floor.models import AuditLine
from tests.cast import PASSWORD, World
from tests.curriculum.garlic import garlic_files

KEY = "arum-maculatum"


@pytest.fixture
def taught(world: World, now: datetime, tmp_path: Path) -> World:
    load_starter(garlic_files(tmp_path), by="command", now=now)
    return world


def invite(world: World, now: datetime) -> str:
    version = accounts_in_use()[KEY].version
    _, token = invite_reviewer(
        version, name="Dr. Orla Kelp", competence="phycologist", scope="all facts", by=world.rosa, now=now
    )
    return token


def signed_form(client: Client, address: str, **changes: str) -> dict[str, str]:
    page = client.get(address).content.decode()
    version = re.search(r'name="version" value="(\w+)"', page)
    assert version
    return {"competence": "phycologist", "review_by": "2027-03-01", "version": version[1]} | changes


def test_the_link_is_shown_once_to_whoever_invites(taught: World, client: Client, now: datetime) -> None:
    client.login(username="rosa", password=PASSWORD)
    form = {"name": "Dr. Orla Kelp", "competence": "phycologist", "scope": "all facts"}
    page = client.post(f"/staff/curriculum/{KEY}/invite/", form)
    assert "https://walks.example.org/review/" in page.content.decode()
    assert page["Cache-Control"] == "no-store"
    assert "https://walks.example.org/review/" not in client.get(f"/staff/curriculum/{KEY}/invite/").content.decode()


def test_the_invited_one_signs_in_their_own_name(taught: World, client: Client, now: datetime) -> None:
    address = f"/review/{invite(taught, now)}/"
    with time_machine.travel(now, tick=False):
        answer = client.post(address, signed_form(client, address))
    assert "Thank you, Dr. Orla Kelp" in answer.content.decode()
    signature = SignOff.objects.get()
    assert (signature.reviewer, signature.reviewer_name, signature.scope) == (None, "Dr. Orla Kelp", "all facts")
    assert AuditLine.objects.get(act="sign off account").actor == "outside reviewer"


def test_a_forged_link_is_nothing_and_an_old_one_is_over(taught: World, client: Client, now: datetime) -> None:
    token = invite(taught, now)
    assert client.get("/review/forged~token/").status_code == 404
    with time_machine.travel(now + timedelta(weeks=7), tick=False):
        page = client.get(f"/review/{token}/")
    assert page.status_code == 410
    assert "This link is over" in page.content.decode()


def test_nobody_invites_themselves(taught: World, now: datetime) -> None:
    version = accounts_in_use()[KEY].version
    with pytest.raises(NotInvited) as refused:
        invite_reviewer(version, name="Rosa", competence="", scope="", by=taught.rosa, now=now)
    assert refused.value.sentence == "Nobody was invited. You cannot invite yourself: somebody else must review it."


def test_a_version_that_claims_more_than_the_signed_one_says_what_that_rests_on(taught: World, now: datetime) -> None:
    one = accounts_in_use()[KEY]
    signature = Signature("reviewed", "phycologist", now.date() + timedelta(days=200))
    sign_off_account(one.version, signature, by=taught.rosa, now=now)
    text = account_text(one.account)
    caveat = one.account.caveats[0].text
    bolder = revise_account(one.taxon, text.replace(caveat, "None."), by=taught.olive, now=now)
    with pytest.raises(NotSigned) as refused:
        sign_off_account(bolder, signature, by=taught.rosa, now=now)
    assert f"{KEY}: a caveat was dropped or changed: {caveat}" in refused.value.sentence
    assert account_of(accounts_in_use()[KEY].version) == one.account
    explained = Signature("reviewed", "phycologist", signature.review_by, change_reason="Seen in the new flora.")
    assert sign_off_account(bolder, explained, by=taught.rosa, now=now).change_reason == "Seen in the new flora."
