"""The character table for a spreadsheet."""

import csv
from io import StringIO

import pytest
from hypothesis import given
from hypothesis import strategies as st

from curriculum.compute.account import INAPPLICABLE, Interval
from curriculum.compute.exchange.table import character_table, csv_text, harmless
from curriculum.compute.vocabulary import GROUPS
from tests.curriculum.compute.files import accounts, vocabulary
from tests.curriculum.compute.taxa import some_vocabulary, states, taxon

STARTS = ("=", "+", "-", "@", "\t", "\r", "\n", "\0")


def rows_of(text):
    return list(csv.reader(StringIO(text, newline="")))


def test_a_row_says_each_value_in_words_and_what_is_missing_why():
    one = taxon("one", cap_colour=states("white", "brown"), cap_width=Interval(12.5, 80), ring=INAPPLICABLE)

    head, row = rows_of(character_table([one], "fungus", some_vocabulary()))
    cells = dict(zip(head, row, strict=True))

    known = some_vocabulary().characters
    assert set(cells[known["cap_colour"].label].split("; ")) == {"white", "brown"}
    assert cells[f"{known['cap_width'].label} (mm)"] == "12.5 to 80"
    assert cells[known["ring"].label] == "has none"
    assert cells[known["smell"].label] == "not known"
    assert (cells["taxon"], cells["stage"], cells["months"]) == ("one", "all", "1 2 3 4 5 6 7 8 9 10 11 12")


@pytest.mark.parametrize("group", GROUPS)
def test_each_account_has_a_row_for_each_stage_and_every_row_is_whole(group):
    members = [one for one in accounts().values() if one.group == group]

    head, *rows = rows_of(character_table(members, group, vocabulary()))

    assert len(rows) == sum(len({"all", *one.characters}) for one in members)
    assert {len(row) for row in rows} == {len(head)}


@pytest.mark.parametrize("start", STARTS)
@pytest.mark.parametrize("before", ["", "  "])
def test_what_a_spreadsheet_would_run_is_only_text(start, before):
    assert harmless(f"{before}{start}cmd|'/c calc'!A1") == f"'{before}{start}cmd|'/c calc'!A1"


@pytest.mark.parametrize("cell", ["", "white", "12 to 80", "'quoted", "a=b", "é"])
def test_other_cells_stay_as_they_are(cell):
    assert harmless(cell) == cell


@given(rows=st.lists(st.lists(st.text(st.characters(exclude_characters="\0")), min_size=1, max_size=4), max_size=5))
def test_every_cell_comes_back_and_none_begins_a_formula(rows):
    back = rows_of(csv_text(rows))

    assert back == [[harmless(cell) for cell in row] if row != [""] else [""] for row in rows]
    assert not [cell for row in back for cell in row if cell.lstrip(" ").startswith(STARTS)]


def test_lines_end_as_the_standard_says_and_quotes_are_doubled():
    assert csv_text([["a", 'b "quoted"'], ["c,d", "e"]]) == 'a,"b ""quoted"""\r\n"c,d",e\r\n'


def test_no_cell_of_the_shipped_accounts_needs_an_apostrophe_but_where_it_must():
    for group in GROUPS:
        for row in rows_of(character_table(accounts().values(), group, vocabulary())):
            assert not [cell for cell in row if cell[:1] in STARTS]
