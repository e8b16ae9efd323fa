"""Acts and steps. An act is one durable transaction and calls no other act; a step may only run inside one."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import datetime
from functools import wraps
from typing import ParamSpec, TypeVar

from django.db import transaction

from foraywright.floor.models import ActWords, AuditLine, User

P = ParamSpec("P")
R = TypeVar("R")

By = User | str
"""Who acts: a staff account, or a word for one that is none ("participant", "worker", "command")."""


def act(function: Callable[P, R]) -> Callable[P, R]:
    """Run `function` in a durable transaction: when it returns, what it wrote is saved. Nesting raises RuntimeError."""

    @wraps(function)
    def in_a_transaction(*args: P.args, **kwargs: P.kwargs) -> R:
        with transaction.atomic(durable=True):
            return function(*args, **kwargs)

    return in_a_transaction


def require_act() -> None:
    """Raise RuntimeError where a step is called outside an act: its writes could then be half done."""
    if not transaction.get_connection().in_atomic_block:
        raise RuntimeError("This step writes and must run inside an act.")


def record(
    act_name: str,
    target: object,
    *,
    by: By,
    now: datetime,
    fields: tuple[str, ...] = (),
    reason: str = "",
    said: str = "",
) -> None:
    """Write the audit line of an act on `target` (anything with a `public_id`): field names, never values.

    `reason`: why, in words of ours or said to everybody, for as long as the audit is kept. `said`: why, in what
    somebody wrote for us alone; it lies sealed beside the line, until `forget_said`.
    """
    require_act()
    line = AuditLine.objects.create(
        at=now,
        actor=by.public_id if isinstance(by, User) else by,
        act=act_name,
        object_kind=type(target).__name__,
        object_id=target.public_id,  # type: ignore[attr-defined]
        fields=list(fields),
        reason=reason,
    )
    if said:
        ActWords.objects.create(line=line, said=said)


def forget_said(public_ids: Iterable[str]) -> None:
    """The step that empties what was written of why, of acts on the objects with these ids. Their lines stay."""
    require_act()
    ActWords.objects.filter(line__object_id__in=list(public_ids), said__isnull=False).update(said=None)
