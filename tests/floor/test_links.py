"""Links that are a permission: stored hashed, good for one purpose, until an instant."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from hypothesis import given
from hypothesis import strategies as st

from foraywright.floor.ids import digest, new_public_id, new_secret
from foraywright.floor.links import follow_link, make_link
from foraywright.floor.models import LinkSecret
from tests.conftest import NOW

pytestmark = pytest.mark.django_db
LATER = NOW + timedelta(days=1)


def token() -> str:
    return make_link("booking", "a-booking", expires_at=LATER, now=NOW)


def test_opens_until_its_instant() -> None:
    made = token()
    assert follow_link("booking", made, now=LATER - timedelta(microseconds=1)) == ("live", "a-booking")
    assert follow_link("booking", made, now=LATER) == ("expired", "a-booking")


def test_taken_back_opens_nothing_even_when_expired() -> None:
    made = token()
    LinkSecret.objects.update(revoked_at=NOW)
    assert follow_link("booking", made, now=NOW) == ("revoked", "a-booking")
    assert follow_link("booking", made, now=LATER) == ("revoked", "a-booking")


def test_for_another_purpose_it_was_never_made_and_nothing_is_asked() -> None:
    made = token()
    with CaptureQueriesContext(connection) as queries:
        assert follow_link("other", made, now=NOW) is None
    assert len(queries) == 0


def test_a_stored_row_alone_opens_nothing() -> None:
    made = token()
    LinkSecret.objects.all().delete()
    assert follow_link("booking", made, now=NOW) is None


def test_the_secret_itself_is_not_stored() -> None:
    secret = token().rpartition("~")[0]
    row = LinkSecret.objects.values().get()
    assert row["digest"] == digest(secret)
    assert secret not in str(row)
    assert len(secret) >= 32


def test_a_forged_token_costs_no_query() -> None:
    made = token()
    with CaptureQueriesContext(connection) as queries:
        assert follow_link("booking", made[:-1] + ("A" if made[-1] != "A" else "B"), now=NOW) is None
        assert follow_link("booking", made.partition("~")[0], now=NOW) is None
        assert follow_link("booking", "", now=NOW) is None
    assert len(queries) == 0


@given(st.text(max_size=80))
def test_no_text_opens_anything(text: str) -> None:
    assert follow_link("booking", text, now=NOW) is None


def test_public_ids_and_secrets_are_long_and_do_not_repeat() -> None:
    ids, secrets = {new_public_id() for _ in range(2000)}, {new_secret() for _ in range(2000)}
    assert len(ids) == len(secrets) == 2000
    assert {len(one) for one in ids} == {16}
    assert {len(one) for one in secrets} == {32}
    assert all(one == one.lower() and one.isalnum() for one in ids)
