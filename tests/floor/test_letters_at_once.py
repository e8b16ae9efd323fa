"""Letters that are sent while somebody waits: a mail server that hangs is said in words, soon, and loses nothing."""

from __future__ import annotations

import socket
import time
from collections.abc import Iterator

import pytest
from django.test import Client
from django.urls import reverse
from pytest_django import Settings

from foraywright.floor import telling_staff
from foraywright.floor.models import User
from foraywright.floor.telling_staff import NOT_SENT, tell_of_reset
from tests.bookings.mail_server import mail_server
from tests.cast import PASSWORD, World
from tests.pages import words_of

pytestmark = pytest.mark.django_db
ASKED = {"email": "olive@example.org"}


@pytest.fixture(autouse=True)
def _known_address(world: World, settings: Settings, monkeypatch: pytest.MonkeyPatch) -> None:
    world.olive.email = ASKED["email"]
    world.olive.save()
    settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    settings.EMAIL_HOST, settings.EMAIL_TIMEOUT = "127.0.0.1", 20
    monkeypatch.setattr(telling_staff, "SECONDS", 1)


@pytest.fixture
def hanging(settings: Settings) -> Iterator[None]:
    """A server that takes the connection and never says a word."""
    with socket.create_server(("127.0.0.1", 0)) as server:
        settings.EMAIL_PORT = server.getsockname()[1]
        begun = time.monotonic()
        yield
        assert time.monotonic() - begun < 10


def test_who_asks_for_a_new_password_is_told_that_no_letter_went_out(
    client: Client, world: World, hanging: None
) -> None:
    answer = client.post(reverse("account_reset_password"), ASKED)
    assert answer.status_code == 503
    words = words_of(answer.content)
    assert "Our mail server does not answer at this moment. Nothing was changed" in words
    assert "ask the office for a link: 01632 960 100." in words
    assert User.objects.get(pk=world.olive.pk).check_password(PASSWORD)


def test_an_address_that_belongs_to_nobody_gets_the_same_page(client: Client, hanging: None) -> None:
    assert client.post(reverse("account_reset_password"), {"email": "nobody@example.org"}).status_code == 503


def test_whoever_takes_a_second_factor_off_is_told_to_tell_them(world: World, hanging: None) -> None:
    assert tell_of_reset(world.olive, by="command", now=world.now) == NOT_SENT


def test_a_server_that_answers_gets_the_letter(client: Client, settings: Settings) -> None:
    with mail_server() as (port, handler):
        settings.EMAIL_PORT = port
        assert client.post(reverse("account_reset_password"), ASKED).status_code == 302
    (letter,) = handler.accepted
    assert letter["To"] == ASKED["email"]
