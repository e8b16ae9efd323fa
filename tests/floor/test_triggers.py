"""What is append-only stays so, whoever writes: the audit and the policies; and there is one business."""

from __future__ import annotations

import pytest
from django.apps import apps
from django.db import DatabaseError, connection, transaction

from foraywright.floor.models import AuditLine, Business, PolicyVersion
from tests.cast import World

pytestmark = pytest.mark.database
APPEND_ONLY = {
    "floor_auditline",
    "floor_policyversion",
    "curriculum_accountversion",
    "curriculum_factgroup",
    "curriculum_citation",
    "curriculum_signoff",
    "bookings_lettertext",
    "bookings_look",
    "bookings_transfer",
    "walks_assessmentaddition",
    "walks_signedassessment",
    "walks_walkforecast",
    "walks_walkstart",
    "walks_weatherdecision",
}


@pytest.mark.parametrize(
    ("sql", "message"),
    [
        ("UPDATE floor_auditline SET actor = 'nobody'", "Audit lines are never changed; write a new one."),
        ("DELETE FROM floor_auditline", "Audit lines are never deleted."),
        ("UPDATE floor_policyversion SET source = 'hearsay'", "Policy versions are never changed; write a new one."),
        ("DELETE FROM floor_policyversion", "Policy versions are never deleted."),
    ],
)
def test_direct_sql_is_refused(world: World, sql: str, message: str) -> None:
    before = list(AuditLine.objects.values()), list(PolicyVersion.objects.values())
    with pytest.raises(DatabaseError, match=message), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(sql)
    assert (list(AuditLine.objects.values()), list(PolicyVersion.objects.values())) == before


def test_so_is_what_goes_through_the_models(world: World) -> None:
    line = AuditLine.objects.all()[0]
    line.reason = "after the fact"
    with pytest.raises(DatabaseError, match=r"Audit lines are never changed"), transaction.atomic():
        line.save()
    with pytest.raises(DatabaseError, match=r"Audit lines are never deleted"), transaction.atomic():
        line.delete()


@pytest.mark.django_db
def test_every_table_that_is_called_append_only_refuses_both() -> None:
    says_so = {model._meta.db_table for model in apps.get_models() if "ppend-only" in (model.__doc__ or "")}
    assert says_so <= APPEND_ONLY
    names = {f"{table}_no_{event}" for table in APPEND_ONLY for event in ("update", "delete")}
    with connection.cursor() as cursor:
        catalogue = "SELECT name FROM sqlite_master WHERE type = 'trigger'"
        cursor.execute(catalogue if connection.vendor == "sqlite" else "SELECT tgname FROM pg_trigger")
        assert names <= {name for (name,) in cursor.fetchall()}


def test_there_is_one_business(world: World) -> None:
    another = Business(
        only=2, name="Other", email="o@example.org", phone="1", jurisdiction="GB-SCT", calendar_domain="x"
    )
    with pytest.raises(DatabaseError, match="one_business_a_database"), transaction.atomic():
        another.save()


def test_a_policy_is_cited_by_kind_and_number(world: World) -> None:
    again = PolicyVersion(kind="prices", number=1, body={}, source="x", since=world.now)
    with pytest.raises(DatabaseError, match=r"one_policy_a_kind_and_number|UNIQUE.*kind"), transaction.atomic():
        again.save()
