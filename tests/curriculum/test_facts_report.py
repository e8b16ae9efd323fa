"""The report on what is recorded and what has no source."""

from __future__ import annotations

import re
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from curriculum.compute.coverage import coverage
from curriculum.queries import accounts_in_use, vocabulary
from curriculum.services.load_starter import load_starter
from tests.cast import World
from tests.curriculum.garlic import garlic_files


@pytest.fixture(autouse=True)
def _garlic(world: World, tmp_path: Path) -> None:
    load_starter(garlic_files(tmp_path), by="command", now=world.now)


def report(*words: str) -> str:
    out = StringIO()
    call_command("facts_report", *words, stdout=out)
    return out.getvalue()


def test_each_account_has_its_line_and_the_sums_add_up() -> None:
    found = [coverage(one.account, vocabulary()) for one in accounts_in_use().values()]
    lines = report().splitlines()

    for one in found:
        [line] = [line for line in lines if line.startswith(f"{one.taxon} ")]
        figures = (len(one.coded), one.applying, f"{one.share:.0%}", len(one.named_unknown), len(one.silent))
        assert line.split()[1:6] == [str(figure) for figure in figures]
        assert line.endswith("below") is one.falls_short
    assert f"Characters coded: {sum(len(one.coded) for one in found)}, " in report()
    assert f"Facts from memory: {sum(len(one.from_memory) for one in found)}, " in report()


def test_only_strict_fails_and_says_why(world: World, tmp_path: Path) -> None:
    report("--strict")

    spoilt = tmp_path / "allium-ursinum.toml"
    spoilt.write_text(without_leaves(spoilt.read_text(encoding="utf-8")), encoding="utf-8")
    load_starter(tmp_path, by="command", now=world.now)

    report()
    with pytest.raises(CommandError, match=r"^1 accounts are coded too little, 0 safety groups have no source\.$"):
        report("--strict")


def without_leaves(account: str) -> str:
    """The account with nothing recorded of its leaves."""
    return "".join(
        line for line in account.splitlines(keepends=True) if not re.match(r"(leaf_\w+|look_order) = ", line)
    )
