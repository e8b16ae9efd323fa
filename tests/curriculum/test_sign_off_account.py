"""A signature: what it records, and every reason why it is refused."""

from __future__ import annotations

import re
from datetime import date, timedelta
from pathlib import Path

import pytest
from django.db import DatabaseError, connection, transaction

from curriculum.errors import NotSigned
from curriculum.models import AccountVersion, SignOff, Taxon, Withdrawal
from curriculum.queries import accounts_in_use
from curriculum.services.load_starter import load_starter
from curriculum.services.sign_off_account import Signature, sign_off_account
from foraywright.floor.models import AuditLine, User
from tests.cast import World
from tests.curriculum.garlic import garlic_files

pytestmark = pytest.mark.database
DAY = date(2027, 3, 1)
NOW_WHAT = "Put these right, or ask another reviewer."


@pytest.fixture
def version(world: World, tmp_path: Path) -> AccountVersion:
    load_starter(garlic_files(tmp_path), by="command", now=world.now)
    return accounts_in_use()["allium-ursinum"].version


def signature(**changes: object) -> Signature:
    values = {"kind": SignOff.Kind.REVIEWED, "competence": "20 years of spring woods", "review_by": DAY}
    return Signature(**(values | {"thin_reason": "Every leaf is checked."} | changes))  # type: ignore[arg-type]


def reasons(version: AccountVersion, *, by: User, world: World, **changes: object) -> list[str]:
    """Why `by` may not sign; nothing may have been written."""
    before = SignOff.objects.count(), AuditLine.objects.count()
    with pytest.raises(NotSigned) as refused:
        sign_off_account(version, signature(**changes), by=by, now=world.now)
    assert (SignOff.objects.count(), AuditLine.objects.count()) == before
    why = list(refused.value.why)
    assert refused.value.sentence == " ".join(
        ["The account of Wild Garlic was not signed.", *why, "It stays a draft.", NOW_WHAT]
    )
    return why


def test_records_who_what_until_when_and_the_pairs(world: World, version: AccountVersion) -> None:
    signed = sign_off_account(version, signature(), by=world.rosa, now=world.now)
    assert (signed.reviewer, signed.reviewer_name, signed.signed_at) == (world.rosa, "Rosa", world.now)
    assert (signed.kind, signed.competence, signed.review_by) == ("reviewed", "20 years of spring woods", DAY)
    hashes = dict(AccountVersion.objects.values_list("taxon__key", "sha256"))
    assert {"colchicum-autumnale", "convallaria-majalis"} <= set(signed.pairs)
    assert all(pair["content"] == hashes[key] for key, pair in signed.pairs.items() if pair["content"])
    line = AuditLine.objects.get(act="sign off account")
    assert (line.actor, line.object_id, line.reason) == (world.rosa.public_id, version.taxon.public_id, "reviewed")
    assert accounts_in_use()["allium-ursinum"].sign_off == signed


def test_is_signed_once(world: World, version: AccountVersion) -> None:
    sign_off_account(version, signature(), by=world.rosa, now=world.now)
    assert reasons(version, by=world.rosa, world=world) == ["This version is signed already."]


def _copy(version: AccountVersion, world: World, **changes: object) -> AccountVersion:
    """A next version that says the same: the hash alone differs, so that it counts as another content."""
    values = {name: getattr(version, name) for name in ("taxon", "body", "vocabulary_version", "edibility", "tier")}
    values |= {"role": version.role, "created_at": world.now, "number": 2, "sha256": "0" * 64, "origin": "person"}
    return AccountVersion.objects.create(**(values | changes))


def test_nobody_signs_what_they_wrote(world: World, version: AccountVersion) -> None:
    own = _copy(version, world, author=world.rosa)
    assert "You wrote this version: somebody else must sign it." in reasons(own, by=world.rosa, world=world)


def test_only_the_newest_is_signed(world: World, version: AccountVersion) -> None:
    _copy(version, world)
    assert "There is a newer version: read and sign that one." in reasons(version, by=world.rosa, world=world)


def test_what_was_withdrawn_is_not_signed(world: World, version: AccountVersion) -> None:
    Withdrawal.objects.create(
        version=version, withdrawn_by=world.rosa, withdrawn_at=world.now, reason="wrong", due_at=world.now
    )
    assert "This version was withdrawn." in reasons(version, by=world.rosa, world=world)


@pytest.mark.parametrize("days", [-1, 0])
def test_the_day_of_the_next_review_lies_ahead(world: World, version: AccountVersion, days: int) -> None:
    day = world.now.date() + timedelta(days=days)
    assert reasons(version, by=world.rosa, world=world, review_by=day) == [
        "The day by which it must be reviewed again lies in the past."
    ]
    assert sign_off_account(version, signature(review_by=day + timedelta(days=2)), by=world.rosa, now=world.now).pk


def test_a_group_that_keeps_people_safe_needs_a_source(world: World, tmp_path: Path) -> None:
    file = garlic_files(tmp_path) / "allium-ursinum.toml"
    text = file.read_text(encoding="utf-8")
    without = re.sub(r"^edibility = \[\n(  .*\n)+\]\n", "", text, flags=re.MULTILINE)
    file.write_text(without.replace('edibility = ["unripe', 'toxicology = ["unripe'), encoding="utf-8")
    load_starter(tmp_path, by="command", now=world.now)
    version = accounts_in_use()["allium-ursinum"].version
    assert "edibility: no source is cited, and this group keeps people safe." in reasons(
        version, by=world.rosa, world=world
    )


@pytest.mark.parametrize(
    ("sql", "message"),
    [
        ("UPDATE curriculum_accountversion SET body = '{}'", "Versions of an account are never changed"),
        ("UPDATE curriculum_accountversion SET edibility = 'choice'", "Versions of an account are never changed"),
        ("DELETE FROM curriculum_signoff", "Signatures are never deleted"),
        ("UPDATE curriculum_signoff SET reviewer_name = 'Somebody'", "Signatures are never changed"),
        ("UPDATE curriculum_factgroup SET from_memory = '[]'", "Fact groups of a version are never changed"),
        ("DELETE FROM curriculum_factgroup", "Fact groups of a version are never deleted"),
        ("DELETE FROM curriculum_citation", "Citations of a version are never deleted"),
        ("UPDATE curriculum_citation SET locator = 'p. 1'", "Citations of a version are never changed"),
        ("DELETE FROM curriculum_accountversion", "Versions of an account are never deleted"),
    ],
)
def test_the_database_keeps_what_was_signed(world: World, version: AccountVersion, sql: str, message: str) -> None:
    sign_off_account(version, signature(), by=world.rosa, now=world.now)
    with pytest.raises(DatabaseError, match=message), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(sql)
    assert Taxon.objects.filter(versions__sign_off__isnull=False).count() == 1
