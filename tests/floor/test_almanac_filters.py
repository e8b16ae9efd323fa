"""What the filters write, and that the parts draw the same on paper and screen."""

from datetime import date, datetime, time

import pytest
from django.template import Context, Template

from curriculum.models import SignOff
from foraywright.floor.pdf import render_pdf

START, END = datetime(2026, 12, 5, 10), datetime(2026, 12, 5, 13)  # noqa: DTZ001, wall times of one zone


def written(source: str, **context: object) -> str:
    return " ".join(Template(source).render(Context(context)).split())


@pytest.mark.parametrize(
    ("source", "value", "text"),
    [
        ("{{ it|money:'GBP' }}", 5400, "£54.00"),
        ("{{ it|day_words }}", date(2026, 12, 5), "Saturday 5 December 2026"),
        ("{{ it|short_day }}", date(2026, 12, 5), "Sat 5 Dec"),
        ("{{ it|clock }}", time(10), "10 am"),
        ("{{ it|clock }}", time(10, 30), "10.30 am"),
        ("{{ it|clock }}", time(12), "12 noon"),
        ("{{ it|clock }}", time(12, 5), "12.05 pm"),
        ("{{ it|clock }}", time(0), "12 midnight"),
        ("{{ it|clock }}", time(0, 1), "12.01 am"),
        ("{{ it|clock }}", time(23, 59), "11.59 pm"),
        ("{{ it|spoken }}", "K7M4QXR", "K7M 4QX R"),
        ("{{ it|join_words }}", [], ""),
        ("{{ it|join_words }}", ["a"], "a"),
        ("{{ it|join_words }}", ["a", "b", "c"], "a, b and c"),
        ("{{ it|join_words:'or' }}", ["a", "b"], "a or b"),
        ("{{ it|sentence }}", "this page is for: office", "This page is for: office."),
        ("{{ it|sentence }}", "Done.", "Done."),
    ],
)
def test_filters(source, value, text):
    assert written(source, it=value) == text


def test_a_span_names_the_day_on_which_it_ends_if_that_is_another():
    assert written("{{ a|until:b }}", a=START, b=END) == "10 am to 1 pm"
    late = datetime(2026, 12, 6, 1)  # noqa: DTZ001
    assert written("{{ a|until:b }}", a=START, b=late) == "10 am to 1 am on Sunday 6 December 2026"


@pytest.mark.parametrize(
    ("sign_off", "line"),
    [
        (None, "Draft, not signed"),
        (SignOff(kind="demonstration", reviewer_name="A. Ash"), "Demonstration signature</strong> Checked by nobody"),
        (
            SignOff(
                kind="reviewed",
                reviewer_name="A. Ash",
                signed_at=datetime(2026, 10, 12, 9),  # noqa: DTZ001
                review_by=date(2027, 10, 12),
            ),
            "Signed by A. Ash on 12 October 2026, review by 12 October 2027.",
        ),
    ],
)
def test_the_draft_line_says_who_signed_or_that_nobody_did(sign_off, line):
    text = written("{% include 'parts/draft_line.html' %}", sign_off=sign_off)
    assert line in text
    assert ("A. Ash" in text) == (sign_off is not None and sign_off.kind == "reviewed")


def test_extended_letters_reach_the_pdf_as_themselves(tmp_path):
    """Two font files under one family name once swapped letters: a name on the register read as another."""
    import pypdf

    page = Template(
        "{% extends 'print/base.html' %}{% block title %}Register{% endblock %}{% block version_line %}Version 3"
        "{% endblock %}{% block main %}<h1>Říčany</h1><p>Łukasz Šťastný, Zoë <b>Żółć</b> <i>Ğül</i></p>{% endblock %}"
    ).render(Context())
    made = render_pdf(page, identifier="letters")
    (tmp_path / "letters.pdf").write_bytes(made.content)
    reader = pypdf.PdfReader(tmp_path / "letters.pdf")
    faces = {font["/BaseFont"] for font in reader.pages[0]["/Resources"]["/Font"].values()}
    assert {face.split("+")[1] for face in faces} >= {
        "Alegreya-Ext-Medium",
        "Alegreya-Sans-Ext",
        "Alegreya-Sans-Ext-Bold",
    }
    text = reader.pages[0].extract_text()
    for word in ("Říčany", "Łukasz Šťastný", "Zoë", "Żółć", "Ğül", "Version 3", "1 of 1"):
        assert word in text
