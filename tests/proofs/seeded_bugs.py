"""`python -m tests.proofs.seeded_bugs [NUMBER …]`: bugs put one by one into a copy of the program; who finds them?

The machine of places runs first; what it does not find in its time, the tests of acts are asked for. Prints PASS where
every bug was found. A bug whose text is not there any more is an error: mend the list.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import tempfile
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
LEFT_OUT = shutil.ignore_patterns(".git", ".venv", "var", "__pycache__", ".hypothesis", ".*_cache", "staticfiles")
RUNS, MINUTES = "150", "4"
OF_THE_MACHINE = re.compile(r"test_places_machine\.py|unbroken\.py")
ACT_TESTS = (
    "test_holds_and_changes",
    "test_waiting_list",
    "test_cancel_booking",
    "test_book_places",
    "test_vouchers",
    "test_hold_times",
    "test_places_races",
    "test_requoted_groups",
    "test_take_income",
    "test_tax_points",
)


@dataclass(frozen=True, slots=True)
class Bug:
    """In the file of bookings, `before` is replaced by `after`, once."""

    file: str
    before: str
    after: str


BUGS = (
    Bug("services/selling.py", "    if decision.allowed:", "    if True:"),
    Bug("services/selling.py", "if is_open_to_all(offering, walks, now=now, rooms=rooms, but=but):", "if True:"),
    Bug("compute/rooms.py", "bool(rooms) and all(", "bool(rooms) and any("),
    Bug("services/settle_money.py", "if all_take(rooms_of(walks, now=now, without=booking), party) else []", ""),
    Bug("services/settle_money.py", "most=still_to_pay(booking), beyond", "most=amount_minor, beyond"),
    Bug(
        "services/settle_money.py",
        "        if booking.state == Booking.State.HELD:\n            give_back",
        "        if False:\n            give_back",
    ),
    Bug("services/lapse_holds.py", "    give_back(booking, now=now)\n", ""),
    Bug("services/lapse_holds.py", "    take_back(booking, 0, now=now)\n", ""),
    Bug("services/places.py", "    show_taken(booking.offering.walks.filter(starts_at__gt=now), now=now)\n", ""),
    Bug("services/places.py", "    before.update(given_back_at=None)\n", ""),
    Bug("services/charging.py", "let_go = min(amount_minor, max(0, owed))", "let_go = amount_minor"),
    Bug("services/charging.py", '    move(kind, "receivable", into, max(0, -owed), booking, now=now)\n', ""),
    Bug("services/confirm_hold.py", "    charge(booking, price_of(booking), now=now)\n", ""),
    Bug(
        "services/hold_places.py",
        "held_until = checkout_end(now, session_ends_at=session_ends_at)",
        "held_until = checkout_end(now, session_ends_at=None)",
    ),
    Bug("services/extend_hold.py", "booking.extensions >= MOST_EXTENSIONS", "booking.extensions > MOST_EXTENSIONS"),
    Bug("services/book_places.py", "    if before is not None:", "    if before is None and False:"),
    Bug("services/change_party.py", "    if was_sent_before(key):", "    if False:"),
    Bug("compute/rooms.py", "if not would_be.kept and would_be.slack < was.slack", "if False"),
    Bug("services/move_booking.py", "        give_back(booking, now=now)\n", ""),
    Bug(
        "services/move_booking.py",
        "min(awaiting_choice(booking), max(0, balance(booking)))",
        "awaiting_choice(booking)",
    ),
    Bug("services/offer_places.py", "    forget_unsold(booking)\n", ""),
    Bug("services/offer_places.py", "    seat(booking, people, walks, now=now)\n", ""),
    Bug("services/pay_by_voucher.py", "min(owed, left_on(voucher))", "owed"),
    Bug("services/return_to_vouchers.py", "        part -= amount\n", ""),
    Bug(
        "services/ledger.py",
        "debit=accounts[debit],\n        credit=accounts[credit]",
        "debit=accounts[credit],\n        credit=accounts[debit]",
    ),
    Bug("services/take_income.py", 'earned.income_minor - credited(booking, "income")', "earned.income_minor"),
    Bug("services/book_tax.py", "0) - standing.get(rate, 0)", "0)"),
    Bug("services/settle_money.py", "        )\n    book_tax(booking, now=now)\n", "        )\n"),
    Bug("queries.py", "booking.held_until > now\n", "booking.held_until >= now\n"),
    Bug("compute/refunds.py", "if days >= one.days)", "if days > one.days)"),
    Bug("services/group_places.py", "    seat(booking, after, walks, now=now)\n", ""),
    Bug("services/group_places.py", "percent=100, now=now", "percent=50, now=now"),
)


def main(numbers: list[int]) -> None:
    """Seed the bugs with these numbers, or all."""
    wanted = numbers or list(range(1, len(BUGS) + 1))
    found = 0
    for number in wanted:
        bug = BUGS[number - 1]
        by = _found_by(bug)
        found += bool(by)
        print(f"{number:2} {bug.file}: {bug.before.strip()[:60]!r}: {by or 'NOT FOUND'}", flush=True)
    print(f"{'PASS' if found == len(wanted) else 'FAIL'}: {found} of {len(wanted)} seeded bugs found")


def _found_by(bug: Bug) -> str:
    with tempfile.TemporaryDirectory(prefix="seeded-") as folder:
        copy = Path(folder) / "copy"
        shutil.copytree(ROOT, copy, ignore=LEFT_OUT)
        file = copy / "bookings" / bug.file
        text = file.read_text(encoding="utf-8")
        if text.count(bug.before) != 1:
            raise SystemExit(f"{bug.file} does not have {bug.before!r} once")
        file.write_text(text.replace(bug.before, bug.after), encoding="utf-8")
        return _machine(copy) or _act_tests(copy)


def _machine(copy: Path) -> str:
    said = _run(copy, "tests.proofs.machine", RUNS, MINUTES, "first")
    if said.returncode == 0:
        return ""
    frames = [line.strip() for line in said.stderr.splitlines() if " in " in line and OF_THE_MACHINE.search(line)]
    return f"the machine, {frames[-1].rpartition(' in ')[2] if frames else said.stderr[-200:]}"


def _act_tests(copy: Path) -> str:
    files = [f"tests/bookings/{one}.py" for one in ACT_TESTS]
    said = _run(copy, "pytest", "-q", "-x", "-n", "0", "-m", "not slow", *files)
    failed = [line for line in said.stdout.splitlines() if line.startswith("FAILED")]
    return failed[0].split()[1] if failed else ""


def _run(copy: Path, *words: str) -> subprocess.CompletedProcess[str]:
    environment = os.environ | {"PYTHONDONTWRITEBYTECODE": "1"}
    command = [sys.executable, "-m", *words]
    return subprocess.run(command, cwd=copy, env=environment, capture_output=True, text=True, check=False)


if __name__ == "__main__":
    main([int(one) for one in sys.argv[1:]])
