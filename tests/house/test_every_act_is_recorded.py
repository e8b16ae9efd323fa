"""Every act leaves a line in the audit; those that do not are named here with their reason."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

from tests.house.test_files import ROOMS, module_of, sources

RECORD = ("foraywright.floor.acts", "record")

Key = tuple[str, str]
"""Module and name of a function."""


@dataclass
class Code:
    """What the rooms' functions call, by module and name; which of them are acts."""

    calls: dict[Key, set[Key]] = field(default_factory=dict)
    acts: set[Key] = field(default_factory=set)

    def reaches_the_audit(self, start: Key) -> bool:
        waiting, seen = [start], {start}
        while waiting:
            one = waiting.pop()
            if one == RECORD:
                return True
            new = self.calls.get(one, set()) - seen
            seen |= new
            waiting += new
        return False


def imported(tree: ast.Module) -> dict[str, Key]:
    found = [one for one in ast.walk(tree) if isinstance(one, ast.ImportFrom) and one.module]
    return {name.asname or name.name: (one.module or "", name.name) for one in found for name in one.names}


def names_in(function: ast.AST) -> Iterator[str]:
    for one in ast.walk(function):
        if isinstance(one, ast.Name):
            yield one.id


def read(file: Path, code: Code) -> None:
    tree, module = ast.parse(file.read_text(encoding="utf-8")), module_of(file)
    functions = [one for one in tree.body if isinstance(one, ast.FunctionDef)]
    known = imported(tree) | {one.name: (module, one.name) for one in functions}
    for one in functions:
        code.calls[module, one.name] = {known[name] for name in names_in(one) if name in known}
        if any(isinstance(mark, ast.Name) and mark.id == "act" for mark in one.decorator_list):
            code.acts.add((module, one.name))


def whole_code() -> Code:
    code = Code()
    for file in sources(*ROOMS):
        read(file, code)
    return code


def test_every_act_leaves_a_line_in_the_audit() -> None:
    code = whole_code()
    silent = {key for key in code.acts if not code.reaches_the_audit(key)}
    assert silent == set(WITHOUT_A_LINE)
    assert len(code.acts) >= 80


ITS_ROW = "the worker carries out a row that says itself when it was done and why not"
A_LOOK = "a look is a line of its own: append-only, and kept as long as it must be"
A_COUNT = "a count of attempts by an address: no object, and nothing of it may outlive the hour"
A_FAULT = "what the worker fails at is no object of the house; its row says since when"
IN_BULK = "the privacy page says when; it is a class of rows, none of which is named"
WITHOUT_A_LINE: dict[Key, str] = {
    ("bookings.services.note_worker_fault", "note_worker_fault"): A_FAULT,
    ("bookings.services.note_worker_fault", "end_worker_fault"): A_FAULT,
    ("bookings.services.note_worker_fault", "known_worker_faults"): A_FAULT,
    ("bookings.services.erase", "forget_keys"): IN_BULK,
    ("bookings.services.erase", "forget_incidents"): IN_BULK,
    ("bookings.services.erase", "forget_payers"): IN_BULK,
    ("bookings.services.erase", "forget_words"): IN_BULK,
    ("bookings.services.count_attempt", "count_attempt"): A_COUNT,
    ("bookings.services.count_attempt", "forget_attempts"): A_COUNT,
    ("bookings.services.ask_for_group", "forget_enquiries"): "the privacy page says when; the row keeps its instant",
    ("bookings.services.erase", "forget_buyers"): "the privacy page says when; which invoices it was, their days say",
    ("bookings.services.lapse_holds", "_warn"): ITS_ROW,
    ("bookings.services.look_at_declarations", "look_at_access_needs"): A_LOOK,
    ("bookings.services.look_at_declarations", "look_at_declaration"): A_LOOK,
    ("bookings.services.look_at_declarations", "look_at_incident"): A_LOOK,
    ("bookings.services.send_messages", "_lay_out_for_post"): ITS_ROW,
    ("bookings.services.send_messages", "_note_as_sent"): ITS_ROW,
    ("bookings.services.send_messages", "_set_aside"): ITS_ROW,
    ("bookings.services.remind_of_payment", "_intend"): ITS_ROW,
    ("bookings.services.tell_of_lapsed_quotes", "_intend"): ITS_ROW,
    ("bookings.services.tell_of_changes", "_tell"): ITS_ROW,
    ("bookings.services.write_ahead", "_intend"): ITS_ROW,
    ("curriculum.services.want_document", "want_document"): "a document that a page asks for is its own row",
    ("walks.services.make_plan", "_keep"): ITS_ROW,
}
