"""Database guarantees that Django's constraints cannot say, as migration operations for SQLite and PostgreSQL."""

from __future__ import annotations

from typing import Any

from django.db.migrations.operations.base import Operation


class VendorSQL(Operation):
    """Run `sqlite` or `postgresql` statements, whichever database it is."""

    reversible = True

    def __init__(
        self, *, sqlite: tuple[str, ...], postgresql: tuple[str, ...], undo: dict[str, tuple[str, ...]]
    ) -> None:
        self.statements = {"sqlite": sqlite, "postgresql": postgresql}
        self.undo = undo

    def state_forwards(self, app_label: str, state: Any) -> None:
        """Django's picture of the models does not change."""

    def database_forwards(self, app_label: str, schema_editor: Any, from_state: Any, to_state: Any) -> None:
        for statement in self.statements[schema_editor.connection.vendor]:
            schema_editor.execute(statement, params=None)

    def database_backwards(self, app_label: str, schema_editor: Any, from_state: Any, to_state: Any) -> None:
        for statement in self.undo[schema_editor.connection.vendor]:
            schema_editor.execute(statement, params=None)

    def describe(self) -> str:
        return "Database guarantee"


def refuse(table: str, event: str, message: str, *, name: str = "", when: str = "") -> VendorSQL:
    """Refuse every UPDATE, UPDATE OF columns or DELETE (`event`) on `table` with `message`.

    `when`: only of rows for which this SQL holds (it may name OLD and NEW); `name`: of the trigger, where a table has
    more than one for the same event.
    """
    name = name or f"{table}_no_{event.lower()}"
    quoted = message.replace("'", "''")
    only = f" WHEN ({when})" if when else ""
    trigger = f'CREATE TRIGGER "{name}" BEFORE {event} ON "{table}"'
    return VendorSQL(
        sqlite=(f"{trigger}{only} BEGIN SELECT RAISE(ABORT, '{quoted}'); END",),
        postgresql=(
            f"CREATE FUNCTION {name}() RETURNS trigger LANGUAGE plpgsql AS $$ "
            f"BEGIN RAISE EXCEPTION '{quoted}' USING ERRCODE = 'check_violation'; END $$",
            f"{trigger} FOR EACH ROW{only} EXECUTE FUNCTION {name}()",
        ),
        undo={
            "sqlite": (f'DROP TRIGGER "{name}"',),
            "postgresql": (f'DROP TRIGGER "{name}" ON "{table}"', f"DROP FUNCTION {name}()"),
        },
    )


def append_only(table: str, what: str) -> list[VendorSQL]:
    """Refuse UPDATE and DELETE on `table`; `what` names the rows in the message."""
    return [
        refuse(table, "UPDATE", f"{what} are never changed; write a new one."),
        refuse(table, "DELETE", f"{what} are never deleted."),
    ]
