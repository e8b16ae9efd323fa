"""The language of letters: what typed text may do (nothing), which placeholders are refused, what is left out."""

from __future__ import annotations

import pytest

from bookings.compute.changes_told import Told, net_changes
from bookings.compute.letter_words import LONGEST_BODY, Words, in_html, in_subject, in_text, reasons_against

KNOWN = ("walk_title", "people")


def refused(subject: str = "A subject", body: str = "A text") -> list[str]:
    return list(reasons_against(Words(subject, body), subject=("walk_title",), body=KNOWN))


def test_known_placeholders_are_fine() -> None:
    assert refused("{walk_title}", "{walk_title} {people}") == []


@pytest.mark.parametrize(
    ("subject", "body", "words"),
    [
        ("", "x", "The subject is empty."),
        ("x", " \n", "The text is empty."),
        ("x" * 121, "x", "The subject is longer than 120 characters."),
        ("x", "x" * (LONGEST_BODY + 1), f"The text is longer than {LONGEST_BODY} characters."),
        ("{people}", "x", "“{people}” in the subject is no placeholder of this letter. Those are: {walk_title}."),
        ("x", "{Nobody}", "“{Nobody}” in the text is no placeholder of this letter."),
        ("x", "{{ people }}", "“{ people }” in the text is no placeholder of this letter."),
        ("x", "a } b", "“}” in the text is no placeholder of this letter."),
        ("x", "&#123;nobody&#125;", "“{nobody}” in the text is no placeholder of this letter."),
        ("x", "[Write](mailto:{people})", "A placeholder in the address of a link leads nowhere."),
        ("x", "<https://example.org/{people}>", "A placeholder in the address of a link leads nowhere."),
    ],
)
def test_is_refused_in_words(subject: str, body: str, words: str) -> None:
    assert any(one.startswith(words) for one in refused(subject, body))


HOSTILE = "<script>alert(1)</script> [x](javascript:alert(1)) **{people}** ![i](https://example.org/i.png)"


def test_typed_markup_and_values_stay_text() -> None:
    html = in_html(Words("x", HOSTILE), {"people": "<b>&Pat</b> [y](https://example.org)"})
    assert "<script" not in html
    assert "<img" not in html
    assert 'href="javascript' not in html
    assert "<strong>&lt;b&gt;&amp;Pat&lt;/b&gt; [y](https://example.org)</strong>" in html


def test_a_placeholder_in_an_address_is_not_filled() -> None:
    html = in_html(Words("x", "[x](https://example.org/{people})"), {"people": "Pat"})
    assert "Pat" not in html


def test_links_are_kept_and_written_out_in_text() -> None:
    words = Words("x", "Take [the bus](https://example.org/bus).")
    assert '<a href="https://example.org/bus"' in in_html(words, {})
    assert in_text(words, {}) == "Take the bus (https://example.org/bus)."


def test_steps_keep_their_numbers_in_text() -> None:
    assert in_text(Words("x", "First:\n\n3. ring\n4. come\n\n- or stay"), {}) == "First:\n3. ring\n4. come\n- or stay"


def test_text_has_no_marks() -> None:
    words = Words("x", "# Head\n\nOne **strong** word\nand a line.\n\n- a\n- b {people}")
    assert in_text(words, {"people": "*Pat*"}) == "Head\n\nOne strong word\nand a line.\n- a\n- b *Pat*"


def test_a_paragraph_with_nothing_to_say_is_left_out() -> None:
    words = Words("x", "One.\n\nFor: {people}.\n\nTwo.")
    assert in_text(words, {"people": ""}) == "One.\n\nTwo."
    assert "For" not in in_html(words, {"people": ""})


def test_a_subject_is_one_line() -> None:
    assert in_subject(Words("On {walk_title}", ""), {"walk_title": "a\r\nBcc: b"}) == "On a Bcc: b"


def test_changes_come_to_first_and_last() -> None:
    told = [
        Told(1, "start", "Start", "10", "11"),
        Told(1, "start", "Start", "11", "12"),
        Told(2, "start", "Start", "9", "10"),
        Told(2, "start", "Start", "10", "9"),
    ]
    assert net_changes(told) == [Told(1, "start", "Start", "10", "12")]
