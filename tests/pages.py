"""What the tests of pages share: a client that is signed in, and the words of an answer."""

from __future__ import annotations

from html import unescape

from bs4 import BeautifulSoup
from django.http import HttpResponse
from django.test import Client

from foraywright.floor.models import User


def signed_in(user: User) -> Client:
    """A client at which `user` is signed in."""
    client = Client()
    client.force_login(user)
    return client


def words_of(content: bytes) -> str:
    """The text of a page on one line, as somebody reads it."""
    return " ".join(unescape(BeautifulSoup(content, "html.parser").get_text(" ")).split())


def say_yes(client: Client, address: str, data: dict[str, str] | None = None, *, follow: bool = False) -> HttpResponse:
    """Press a button that asks once, and answer the question with yes."""
    question = BeautifulSoup(client.post(address, data or {}).content, "html.parser")
    form = question.find("input", attrs={"name": "seen"}).find_parent("form")
    fields = {one["name"]: one["value"] for one in form.find_all("input") if one["name"] != "csrfmiddlewaretoken"}
    return client.post(address, fields, follow=follow)
