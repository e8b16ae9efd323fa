"""The season strip: one cell a half month, and a sentence without a seam at the new year."""

import pytest

from foraywright.floor.compute.season_strip import cells, half_month_name, in_words

WINTER = [1.0, 1.0, 0.5, *[0.0] * 17, 0.5, 1.0, 1.0, 1.0]


def test_a_cell_is_as_high_as_its_share_and_stands_on_the_line():
    first, third = cells(WINTER)[0], cells(WINTER)[2]
    assert (first.x, first.top, first.height) == (0.4, 1.0, 8.0)
    assert (third.top, third.height, third.top + third.height) == (5.0, 4.0, 9.0)


def test_every_month_has_its_initial_once():
    assert "".join(cell.month for cell in cells(WINTER)) == "JFMAMJJASOND"


def test_a_stretch_over_the_new_year_is_one_stretch():
    assert in_words(WINTER, 22) == (
        "may be met from early November to early February; most likely from late November to late January; "
        "the walk is in early December"
    )


@pytest.mark.parametrize(
    ("half_months", "words"),
    [
        ([0.0] * 24, "no months are recorded"),
        ([1.0] * 24, "may be met all year"),
        ([0.0] * 5 + [0.4] + [0.0] * 18, "may be met in late March"),
        (
            [0.0, 0.4, 0.4] + [0.0] * 7 + [0.4] + [0.0] * 13,
            "may be met from late January to early February and in early June",
        ),
    ],
)
def test_the_sentence(half_months, words):
    assert in_words(half_months) == words


@pytest.mark.parametrize("wrong", [[0.5] * 23, [0.5] * 25, [1.1] + [0.0] * 23, [-0.1] + [0.0] * 23])
def test_anything_but_twenty_four_shares_is_refused(wrong):
    with pytest.raises(ValueError, match="takes 24 shares between 0 and 1"):
        cells(wrong)


def test_names_of_half_months():
    assert [half_month_name(i) for i in (0, 19, 23)] == ["early January", "late October", "late December"]
