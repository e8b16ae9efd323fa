"""The character table in DELTA: there and back, and what is refused."""

import re
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from curriculum.compute.account import INAPPLICABLE, UNKNOWN, Interval
from curriculum.compute.exchange.delta import delta_texts, plain
from curriculum.compute.exchange.delta_comparison import Difference, characters_of, compare_delta
from curriculum.compute.exchange.delta_reader import DIRECTIVES, DeltaRefused, read_delta
from curriculum.compute.vocabulary import GROUPS
from tests.curriculum.compute.files import accounts, vocabulary
from tests.curriculum.compute.taxa import any_taxon, some_vocabulary, states, taxon, with_value

CHARS = "*CHARACTER LIST #1. cap <key cap_colour>/ 1. white <key white>/ 2. brown <key brown>/ #2. width <key w>/ mm/"
SPECS = "*NUMBER OF CHARACTERS 2 *CHARACTER TYPES 1,UM 2,RN *NUMBERS OF STATES 1,2"


def read(items, chars=CHARS, specs=SPECS):
    return read_delta(chars, specs, f"*ITEM DESCRIPTIONS {items}")


def value(coded):
    [item] = read(f"# Some species/ {coded}").items
    return item.values[int(coded.split(",")[0].split("<")[0])]


def there_and_back(members, group, words):
    texts = delta_texts(members, group, words)
    return characters_of(read_delta(texts.chars, texts.specs, texts.items))


def as_plain(account):
    return {stage: {k: v for k, v in table.items() if v is not UNKNOWN} for stage, table in account.characters.items()}


@pytest.mark.parametrize("group", GROUPS)
def test_every_shipped_account_comes_back_with_equal_values(group):
    members = [one for one in accounts().values() if one.group == group]
    back = there_and_back(members, group, vocabulary())

    assert members
    assert back == {one.taxon: as_plain(one) for one in members}


@settings(max_examples=60, deadline=None)
@given(one=any_taxon("one"), other=any_taxon("two"))
def test_any_values_come_back(one, other):
    back = there_and_back([one, other], "fungus", some_vocabulary())

    assert back == {"one": as_plain(one), "two": as_plain(other)}


def test_unknown_and_inapplicable_are_kept_apart():
    one = taxon("one", ring=INAPPLICABLE, cap_width=Interval(12.5, 80))
    texts = delta_texts([one], "fungus", some_vocabulary())
    numbers = {key: place for place, key in enumerate(some_vocabulary().characters, 1)}
    item = texts.items.split("/\n")[1].split()

    assert f"{numbers['ring']},-" in item
    assert f"{numbers['smell']},U" in item
    assert f"{numbers['cap_width']},12.5-80" in item
    assert there_and_back([one], "fungus", some_vocabulary()) == {"one": as_plain(one)}


def test_a_value_that_differs_is_reported_with_both_sides_and_nothing_else_is():
    ours = taxon("one", cap_colour=states("white"), ring=INAPPLICABLE, cap_width=Interval(20, 50))
    theirs = with_value(with_value(ours, "cap_colour", states("brown")), "ring", UNKNOWN)
    texts = delta_texts([theirs, replace(theirs, taxon="stranger")], "fungus", some_vocabulary())
    data = read_delta(texts.chars, texts.specs, texts.items)

    found = compare_delta(data, {"one": ours}, some_vocabulary())

    assert found.compared == len(some_vocabulary().characters)
    assert set(found.differences) == {
        Difference("one", "all", "cap_colour", states("white"), states("brown")),
        Difference("one", "all", "ring", INAPPLICABLE, UNKNOWN),
    }
    assert found.unmatched == ("item one <key stranger all>",)


@pytest.mark.parametrize(
    ("coded", "meant"),
    [
        ("1,U", UNKNOWN),
        ("1,-", INAPPLICABLE),
        ("1,V", frozenset({1, 2})),
        ("2,V", UNKNOWN),
        ("1,1/2", frozenset({1, 2})),
        ("1,1&2", frozenset({1, 2})),
        ("1,1-2", frozenset({1, 2})),
        ("1<rarely <in rain>>,2<or paler>", frozenset({2})),
        ("2,10-20", Interval(10, 20)),
        ("2,7.5", Interval(7.5, 7.5)),
        ("2,(4-)10-20(-30)", Interval(4, 30)),
    ],
)
def test_what_others_write_is_read(coded, meant):
    assert value(coded) == meant


def test_directives_are_known_by_three_letters_and_stand_anywhere_after_a_blank():
    data = read("# Some species/ 1,2", specs="* NUM OF CHA 2 *CHA TYP 2,RN *COMMENT as <*CHARACTER TYPES> says")

    assert [one.kind for one in data.characters.values()] == ["UM", "RN"]


@pytest.mark.parametrize(
    ("texts", "sentence"),
    [
        ({"items": "# Some species/ 3,1"}, "Some species: 3,1 is no attribute of a listed character."),
        ({"items": "# Some species/ 1,3"}, "Some species: 3 is no value of character 1."),
        ({"items": "# Some species 1,2"}, "does not end in a slash"),
        ({"items": "# Some species/ 2,wide"}, "Some species: wide is no value of character 2."),
        ({"specs": "*NUMBER OF CHARACTERS 3 *CHARACTER TYPES 1,UM"}, "3 characters are announced, 2 are listed."),
        ({"specs": "*CHARACTER TYPES 1,UM *NUMBERS OF STATES 1,3"}, "Character 1 has 2 states, 3 are announced."),
        ({"specs": "*NUMBER OF CHARACTERS 2"}, "*CHARACTER TYPES is there 0 times, and is needed once."),
        ({"specs": f"{SPECS} *IMPLICIT VALUES 1,2"}, "The directive *IMPLICIT VALUES 1,2 is not read"),
        ({"chars": "*CHARACTER LIST #1. cap colour"}, "Character 1 does not end in a slash."),
    ],
)
def test_what_cannot_be_read_is_refused(texts, sentence):
    given = {"items": "# Some species/ 1,2", **texts}
    with pytest.raises(DeltaRefused, match=re.escape(sentence)):
        read(**given)


@given(text=st.text(max_size=40))
def test_a_label_never_breaks_the_format(text):
    words = plain(text)

    assert not set("<>*#/") & set(words)
    data = read_delta(
        f"*CHARACTER LIST #1. x{words} <key cap_colour>/ 1. white/", "*CHARACTER TYPES 1,UM", "*ITEM DESCRIPTIONS"
    )
    assert len(data.characters) == 1


def test_lines_are_short_enough_for_old_programs_and_every_directive_is_one_that_is_read():
    texts = delta_texts(accounts().values(), "fungus", vocabulary())
    lines = "\n".join([texts.chars, texts.specs, texts.items]).splitlines()
    directives = [line[1:] for line in lines if line.startswith("*")]

    assert {one for one in DIRECTIVES if any(line.startswith(one) for line in directives)} == {*DIRECTIVES} - {
        "COMMENT"
    }
    assert all(any(line.startswith(one) for one in DIRECTIVES) for line in directives)
    assert max(len(line) for line in lines if line[:1].isdigit()) <= 79
