"""A real Chromium on a live server, in the week of the cast."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
import time_machine
from playwright.sync_api import Browser, Page, sync_playwright
from pytest_django.live_server_helper import LiveServer

from curriculum.models import Taxon
from curriculum.services.load_starter import load_starter
from tests.cast import World
from tests.conftest import NOW
from walks.models import Site, ThemeTaxon

ARGUMENTS = [
    "--no-sandbox",
    "--disable-gpu",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    # Its event loop stays in the thread until the end, and the database is emptied in that thread after each test.
    with pytest.MonkeyPatch.context() as patch, sync_playwright() as playwright:
        patch.setenv("DJANGO_ALLOW_ASYNC_UNSAFE", "true")
        chromium = playwright.chromium.launch(executable_path="/usr/bin/chromium", headless=True, args=ARGUMENTS)
        yield chromium
        chromium.close()


@pytest.fixture
def page(browser: Browser) -> Iterator[Page]:
    with browser.new_context(viewport={"width": 1280, "height": 900}, accept_downloads=True) as context:
        context.set_default_timeout(20_000)
        yield context.new_page()


@pytest.fixture
def taught(real_world: World, live_server: LiveServer, settings: object) -> Iterator[World]:
    """The cast in September with a theme that teaches the grey oyster; letters name the live server."""
    settings.SITE_ADDRESS = live_server.url  # type: ignore[attr-defined]
    load_starter(by="command", now=real_world.now)
    ThemeTaxon.objects.create(theme=real_world.theme, taxon=Taxon.objects.get(key="pleurotus-ostreatus"))
    Site.objects.update(habitats=["broadleaved_wood"])
    with time_machine.travel(NOW, tick=True):
        yield real_world
