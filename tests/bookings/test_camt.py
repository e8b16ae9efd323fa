"""Reading bank statements, and references in what people write."""

from __future__ import annotations

from datetime import date

import pytest

from bookings.compute.camt import MOST_BYTES, StatementRefused, read_statements
from bookings.compute.references import codes_in, creditor_reference, in_groups
from foraywright.floor.compute.short_codes import new_short_code
from tests.bookings.statements import ACCOUNT, Entry, statement


@pytest.mark.parametrize("version", ["02", "08"])
def test_both_versions_say_the_same(version: str) -> None:
    entry = Entry("36.00", "two  places\n please", structured="RF18539007547034")
    (line,) = read_statements(statement(entry, version=version))
    assert (line.account, line.statement, line.entry, line.booked_on) == (
        ACCOUNT,
        "2026-09-14/1",
        "E1",
        date(2026, 9, 14),
    )
    assert (line.amount_minor, line.currency, line.came_in, line.is_reversal) == (3600, "GBP", True, False)
    assert (line.payer, line.text) == ("Pat Partridge", "RF18539007547034 · two places please")


@pytest.mark.parametrize("version", ["02", "08"])
def test_a_batch_becomes_a_line_a_payment_only_where_the_amounts_add_up(version: str) -> None:
    batch = Entry("30.00", parts=(("18.00", "one"), ("12.00", "two")))
    lines = read_statements(statement(batch, version=version))
    assert [(one.entry, one.amount_minor, one.text) for one in lines] == [("E1/1", 1800, "one"), ("E1/2", 1200, "two")]
    short = Entry("30.00", parts=(("18.00", "one"), ("11.00", "two")))
    (whole,) = read_statements(statement(short, version=version))
    assert (whole.entry, whole.amount_minor, whole.text) == ("E1", 3000, "one · two")


def test_what_goes_out_is_kept_without_name_and_text_and_a_reversal_is_told() -> None:
    (line,) = read_statements(statement(Entry("5.00", "refund", way="DBIT", is_reversal=True)))
    assert (line.came_in, line.is_reversal, line.text, line.payer) == (False, True, "", "")


def test_what_is_only_announced_is_left_out() -> None:
    assert read_statements(statement(Entry("5.00", status="PDNG"), version="08")) == ()


def test_a_further_page_of_a_statement_counts_its_entries_anew() -> None:
    unnamed = statement(Entry("5.00")).replace(b"<AcctSvcrRef>E1</AcctSvcrRef>", b"")
    page = b"<Id>2026-09-14/1</Id><StmtPgntn><PgNb>%d</PgNb><LastPgInd>false</LastPgInd></StmtPgntn>"
    first, second = (read_statements(unnamed.replace(b"<Id>2026-09-14/1</Id>", page % number))[0] for number in (1, 2))
    assert (first.statement, second.statement) == ("2026-09-14/1", "2026-09-14/1 page 2")
    assert first.entry == second.entry == "entry 1"


@pytest.mark.parametrize(
    ("content", "why"),
    [
        (b"no xml", "cannot be read as XML"),
        (b"<a/>", "no statement that we can read"),
        (statement(version="03"), "no statement that we can read"),
        (b"<!DOCTYPE a [<!ENTITY b 'c'>]><a>&b;</a>", "document type"),
        (b'<!DOCTYPE a SYSTEM "file:///etc/passwd"><a/>', "document type"),
        (b" " * (MOST_BYTES + 1), "more than 5 MB"),
        (statement(Entry("5.001")), "no amount of money"),
        (statement(Entry("-5.00")), "no amount of money"),
        (statement(Entry("0.00")), "no amount of money"),
        (statement(Entry("NaN")), "no amount of money"),
        (statement(Entry("1e30")), "no amount of money"),
        (statement(Entry("1e999999999")), "no amount of money"),
        (statement(Entry("5.00", way="BOTH")), "whether money came or went"),
        (statement(Entry("5.00"), Entry("6.00")), "same reference"),
        (statement(Entry("5.00")).replace(b"2026-09-14</Dt>", b"soon</Dt>"), "no day"),
        (statement(Entry("5.00")).replace(b"<Id>2026-09-14/1</Id>", b""), "no identification"),
    ],
)
def test_what_cannot_be_read_is_refused_in_words(content: bytes, why: str) -> None:
    with pytest.raises(StatementRefused, match=why):
        read_statements(content)


def test_a_reference_is_found_however_it_is_written() -> None:
    code = new_short_code()
    reference = creditor_reference(code)
    for text in (reference, in_groups(reference).lower(), f"Walk 3 Oct, ref:{reference}/Pat", "-".join(reference)):
        assert codes_in(text) == (code,)


def test_a_slip_of_the_keyboard_finds_nobody() -> None:
    reference = creditor_reference(new_short_code())
    for place in range(2, len(reference)):
        for other in "3C7":
            if other != reference[place]:
                assert codes_in(reference[:place] + other + reference[place + 1 :]) == ()
    assert codes_in("RF18539007547034") == ()
