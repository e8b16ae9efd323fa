"""The second factor of staff accounts."""

from __future__ import annotations

import base64
import re
from datetime import timedelta
from smtplib import SMTPServerDisconnected

import pytest
import time_machine
from allauth.mfa.models import Authenticator
from allauth.mfa.totp.internal.auth import format_hotp_value, hotp_value, validate_totp_code
from bs4 import BeautifulSoup
from cryptography.fernet import Fernet
from django.core.cache import cache
from django.core.mail import EmailMessage
from django.core.mail.backends.base import BaseEmailBackend
from django.core.management import CommandError, call_command
from django.test import Client
from django.urls import reverse
from pytest_django import Settings

from foraywright.floor.models import AuditLine, User
from foraywright.floor.second_factor import has_second_factor
from foraywright.floor.telling_staff import NOT_SENT, tell_of_reset
from tests.cast import PASSWORD, World
from tests.conftest import NOW
from tests.pages import say_yes, signed_in, words_of

pytestmark = pytest.mark.django_db

LATER = NOW + timedelta(minutes=1)


@pytest.fixture(autouse=True)
def _nothing_remembered() -> None:
    cache.clear()


def code_at(secret: str, moment: object) -> str:
    return format_hotp_value(hotp_value(secret, int(moment.timestamp()) // 30))  # type: ignore[attr-defined]


def sign_in(client: Client, world: World) -> object:
    return client.post(reverse("account_login"), {"login": world.olive.username, "password": PASSWORD})


def set_up(client: Client, world: World) -> str:
    """Set one up as its owner does, and return the secret."""
    with time_machine.travel(NOW, tick=False):
        sign_in(client, world)
        client.post(reverse("account_reauthenticate"), {"password": PASSWORD})
        page = client.get(reverse("mfa_activate_totp"))
        secret = BeautifulSoup(page.content, "html.parser").select_one("figcaption").get_text(strip=True)
        answer = client.post(reverse("mfa_activate_totp"), {"code": code_at(secret, NOW)})
        assert answer["Location"] == reverse("mfa_view_recovery_codes")
    return secret


@pytest.mark.parametrize(
    ("seconds", "of_eight"),
    [
        (59, "94287082"),
        (1111111109, "07081804"),
        (1111111111, "14050471"),
        (1234567890, "89005924"),
        (2000000000, "69279037"),
        (20000000000, "65353130"),
    ],
)
def test_codes_are_those_of_rfc_6238_appendix_b(seconds: int, of_eight: str) -> None:
    """The published values for SHA-1 have eight figures (from memory); ours are the last six of them."""
    secret = base64.b32encode(b"12345678901234567890").decode()
    with time_machine.travel(seconds, tick=False):
        assert validate_totp_code(secret, of_eight[-6:])
        assert not validate_totp_code(secret, f"{(int(of_eight[-6:]) + 1) % 10**6:06}")
    with time_machine.travel(seconds + 30, tick=False):
        assert not validate_totp_code(secret, of_eight[-6:]), "a code is taken in its own half minute only"


def test_with_one_the_password_alone_opens_nothing(world: World) -> None:
    secret = set_up(Client(), world)
    client = Client()
    with time_machine.travel(LATER, tick=False):
        assert sign_in(client, world)["Location"] == reverse("mfa_authenticate")
        assert client.get(reverse("staff_today")).status_code == 302
        wrong = client.post(reverse("mfa_authenticate"), {"code": "000000"})
        assert "Incorrect code" in words_of(wrong.content)
        assert client.post(reverse("mfa_authenticate"), {"code": code_at(secret, LATER)}).status_code == 302
        assert client.get(reverse("staff_today")).status_code == 200


def test_a_code_works_once(world: World) -> None:
    secret = set_up(Client(), world)
    with time_machine.travel(LATER, tick=False):
        first, second = Client(), Client()
        for client, status in ((first, 302), (second, 200)):
            sign_in(client, world)
            assert client.post(reverse("mfa_authenticate"), {"code": code_at(secret, LATER)}).status_code == status
        assert second.get(reverse("staff_today")).status_code == 302


def test_recovery_codes_are_shown_once_and_work_once(world: World) -> None:
    owner = Client()
    set_up(owner, world)
    with time_machine.travel(NOW, tick=False):
        shown = owner.get(reverse("mfa_view_recovery_codes"))
        codes = re.findall(r"<li>(\d{8})</li>", shown.content.decode())
        assert len(codes) == 10
        assert not re.findall(r"<li>\d{8}</li>", owner.get(reverse("mfa_view_recovery_codes")).content.decode())
    with time_machine.travel(LATER, tick=False):
        for status in (302, 200):
            client = Client()
            sign_in(client, world)
            assert client.post(reverse("mfa_authenticate"), {"code": codes[0]}).status_code == status


def test_where_it_is_demanded_staff_pages_wait_for_it_and_public_ones_do_not(world: World, settings: Settings) -> None:
    settings.SECOND_FACTOR_REQUIRED = True
    client = Client()
    with time_machine.travel(NOW, tick=False):
        sign_in(client, world)
        for name in ("staff_today", "staff_bookings", "staff_curriculum"):
            assert client.get(reverse(name))["Location"] == reverse("mfa_activate_totp")
        assert client.get(reverse("programme")).status_code == 200
        set_up(client, world)
        assert client.get(reverse("staff_today")).status_code == 200
        kept = client.post(reverse("mfa_deactivate_totp"))
        assert kept.status_code == 200
        assert has_second_factor(world.olive)
        for name in ("mfa_index", "mfa_deactivate_totp"):
            page = client.get(reverse(name))
            assert "Do without it" not in words_of(page.content)
            assert "Whoever works here signs in with one." in words_of(page.content)
        settings.SECOND_FACTOR_REQUIRED = False
        assert "Do without it" in words_of(client.get(reverse("mfa_index")).content)
        assert "Do without it" in words_of(client.get(reverse("mfa_deactivate_totp")).content)


def test_after_five_wrong_codes_even_the_right_one_waits(world: World, settings: Settings) -> None:
    """The login library's own limit: five in five minutes an account. A code of six figures is guessed by no script."""
    secret = set_up(Client(), world)
    settings.ACCOUNT_RATE_LIMITS = {}
    client = Client()
    with time_machine.travel(LATER, tick=False):
        sign_in(client, world)
        for _ in range(5):
            assert "Incorrect code" in words_of(client.post(reverse("mfa_authenticate"), {"code": "000000"}).content)
        refused = client.post(reverse("mfa_authenticate"), {"code": code_at(secret, LATER)})
        assert "Too many failed" in words_of(refused.content)
        other = Client(REMOTE_ADDR="198.51.100.7")
        sign_in(other, world)
        assert other.post(reverse("mfa_authenticate"), {"code": code_at(secret, LATER)}).status_code == 200
    afterwards = LATER + timedelta(minutes=5)
    with time_machine.travel(afterwards, tick=False):
        assert client.post(reverse("mfa_authenticate"), {"code": code_at(secret, afterwards)}).status_code == 302
        assert client.get(reverse("staff_today")).status_code == 200


def test_the_office_takes_a_lost_one_off(real_world: World, mailoutbox: list[EmailMessage]) -> None:
    world, office = real_world, signed_in(real_world.olive)
    User.objects.filter(pk=world.olive.pk).update(email="olive@example.org")
    set_up(Client(), world)
    person = reverse("staff_person", args=[world.olive.public_id])
    with time_machine.travel(LATER, tick=False):
        assert "Take it off" in words_of(office.get(person).content)
        answer = say_yes(office, reverse("staff_person_factor", args=[world.olive.public_id]), follow=True)
    assert "It is taken off. A letter to them is on its way." in words_of(answer.content)
    (told,) = mailoutbox
    assert (told.to, told.reply_to) == (["olive@example.org"], ["office@example.org"])
    assert "was taken off on 14 September 2026 at 10:01 by Olive." in told.body
    assert "telephone us: 01632 960 100." in told.body
    assert reverse("account_change_password") in told.body
    assert not Authenticator.objects.exists()
    acts = list(AuditLine.objects.filter(act__endswith="second factor").order_by("pk").values_list("act", "fields"))
    assert ("add second factor", ["totp"]) in acts
    assert acts[-1] == ("reset second factor", ["second_factor"])


def test_the_last_of_the_office_is_helped_by_a_command(
    world: World, mailoutbox: list[EmailMessage], capsys: pytest.CaptureFixture[str]
) -> None:
    set_up(Client(), world)
    call_command("reset_second_factor", world.olive.username, verbosity=0)
    assert not Authenticator.objects.exists()
    assert not mailoutbox
    assert "No e-mail address of theirs is known: tell them yourself." in capsys.readouterr().out
    User.objects.filter(pk=world.olive.pk).update(email="olive@example.org")
    set_up(Client(), world)
    call_command("reset_second_factor", world.olive.username, verbosity=0)
    assert "by a command on the machine." in mailoutbox[0].body
    with pytest.raises(CommandError, match="No staff account"):
        call_command("reset_second_factor", "nobody")


def test_a_letter_that_cannot_be_sent_is_said_and_undoes_nothing(world: World, settings: Settings) -> None:
    settings.EMAIL_BACKEND = "tests.floor.test_second_factor.NoPost"
    world.olive.email = "olive@example.org"
    assert tell_of_reset(world.olive, by="command", now=NOW) == NOT_SENT


class NoPost(BaseEmailBackend):
    """A mail server that is not there."""

    def send_messages(self, messages: object) -> int:
        raise SMTPServerDisconnected


def test_its_secrets_lie_sealed_and_follow_the_keys(world: World, settings: Settings) -> None:
    secret = set_up(Client(), world)
    before = {one.type: dict(one.data) for one in Authenticator.objects.all()}
    assert secret not in str(before)
    settings.SEALING_KEYS = [Fernet.generate_key().decode(), *settings.SEALING_KEYS]
    call_command("rotate_keys", verbosity=0)
    settings.SEALING_KEYS = settings.SEALING_KEYS[:1]
    after = {one.type: dict(one.data) for one in Authenticator.objects.all()}
    assert after["totp"]["secret"] != before["totp"]["secret"]
    client = Client()
    with time_machine.travel(LATER, tick=False):
        sign_in(client, world)
        assert client.post(reverse("mfa_authenticate"), {"code": code_at(secret, LATER)}).status_code == 302
