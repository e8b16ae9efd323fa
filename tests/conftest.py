"""What the whole suite shares."""

from __future__ import annotations

import os
from collections.abc import Iterator
from datetime import UTC, datetime

import pytest
import time_machine
from django.db import connection
from django.test import Client, TransactionTestCase

from foraywright.floor.models import Business
from tests.audit import the_audit_names_nobody
from tests.cast import World, make_world
from tests.pages import signed_in

pytest_plugins = ["tests.published.summary"]

NOW = datetime(2026, 9, 14, 9, 0, tzinfo=UTC)
"""A Monday morning in September, before the walks of the cast."""

_plain_teardown = TransactionTestCase._fixture_teardown  # type: ignore[attr-defined]


def _teardown_past_the_guarantees(case: TransactionTestCase) -> None:
    """Empty the tables between tests: on SQLite that is DELETE, which append-only tables rightly refuse."""
    if connection.vendor != "sqlite":
        return _plain_teardown(case)
    with connection.cursor() as cursor:
        cursor.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'")
        triggers = cursor.fetchall()
        for name, _ in triggers:
            cursor.execute(f'DROP TRIGGER "{name}"')
        _plain_teardown(case)
        for _, sql in triggers:
            cursor.execute(sql)


TransactionTestCase._fixture_teardown = _teardown_past_the_guarantees  # type: ignore[attr-defined]


@pytest.fixture
def now() -> datetime:
    return NOW


@pytest.fixture
def world(db: None, now: datetime) -> Iterator[World]:
    """The cast with one published walk, in a transaction that is rolled back."""
    yield make_world(now=now)
    the_audit_names_nobody()


@pytest.fixture
def real_world(transactional_db: None, now: datetime) -> Iterator[World]:
    """The same, committed: for acts that race, threads and other processes."""
    yield make_world(now=now)
    the_audit_names_nobody()


@pytest.fixture
def september() -> Iterator[None]:
    """The clock stands still at `NOW`, for pages and acts that read it themselves."""
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def practice_cards(world: World, september: None) -> None:
    """A demonstration, in which the practice provider takes cards."""
    Business.objects.update(is_demonstration=True)


@pytest.fixture
def olive(world: World) -> Client:
    """A client at which the office is signed in."""
    return signed_in(world.olive)


def pytest_report_header() -> str:
    return (
        "BROWSER TESTS WILL NOT RUN: no Chromium" if os.environ.get("FORAYWRIGHT_NO_CHROMIUM") else "browser: Chromium"
    )


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    if os.environ.get("FORAYWRIGHT_NO_CHROMIUM"):
        terminalreporter.section("NO CHROMIUM: THE BROWSER TESTS DID NOT RUN", red=True, bold=True)


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    if os.environ.get("FORAYWRIGHT_NO_CHROMIUM"):
        mark = pytest.mark.skip(reason="no Chromium on this machine")
        for item in items:
            if item.get_closest_marker("browser"):
                item.add_marker(mark)


@pytest.fixture(autouse=True)
def _no_async_guard() -> Iterator[None]:
    """Playwright keeps an event loop in the thread; the database is used from there all the same."""
    before = os.environ.get("DJANGO_ALLOW_ASYNC_UNSAFE")
    os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"
    yield
    if before is None:
        os.environ.pop("DJANGO_ALLOW_ASYNC_UNSAFE", None)
