"""Whatever people type, a calendar keeps its lines."""

from __future__ import annotations

from datetime import UTC, datetime
from decimal import Decimal
from unittest.mock import patch

import icalendar
from hypothesis import given, settings
from hypothesis import strategies as st

from foraywright.floor.models import Business
from walks.feeds.calendar import calendar
from walks.feeds.entries import Entry
from walks.feeds.event import event_text
from walks.models import Offering, Site, Theme, Walk

NASTY = "\r\n\x00\x0b\x0c\x1c\x85\u2028\u2029\u202e\u2066\u200f;,:\"\\^'="
TEXTS = st.text(alphabet=st.one_of(st.sampled_from(NASTY), st.characters(exclude_categories=["Cs"])), max_size=120)
INJECTED = st.sampled_from(
    ["", "\r\nATTENDEE:mailto:x@example.org", "\nEND:VEVENT\nBEGIN:VEVENT", "\rX-A:1", "\u2028URL:x"]
)
HOSTILE = st.builds(lambda a, b, c: a + b + c, TEXTS, INJECTED, TEXTS)

PROPERTIES = {
    *("UID", "DTSTAMP", "LAST-MODIFIED", "SEQUENCE", "DTSTART", "DTEND", "SUMMARY", "DESCRIPTION", "LOCATION", "GEO"),
    *("CATEGORIES", "STATUS", "URL", "ATTACH", "ORGANIZER"),
}
WHEN = datetime(2026, 10, 3, 9, tzinfo=UTC)


def walk_of(words: list[str]) -> Walk:
    title, lead, why, theme, name, point, reference, going = words
    site = Site(
        name=name,
        meeting_point=point,
        reference_as_typed=reference,
        going=going,
        latitude=Decimal("50.1"),
        longitude=Decimal("-1.2"),
    )
    offering = Offering(title=title, lead=lead, called_off_why=why, theme=Theme(name=theme, lead=lead))
    return Walk(
        offering=offering,
        site=site,
        zone="Europe/London",
        local_date=WHEN.date(),
        starts_at=WHEN,
        ends_at=WHEN.replace(hour=12),
        calendar_uid="a@example.org",
        calendar_stamp=WHEN,
        calendar_modified=WHEN,
    )


def lines_of(content: bytes) -> list[str]:
    """Content lines as the least forgiving reader sees them: any character that may end a line ends one."""
    unfolded = content.replace(b"\r\n ", b"").decode("utf-8")
    return unfolded.splitlines()


@settings(max_examples=300, deadline=None)
@given(words=st.lists(HOSTILE, min_size=8, max_size=8), business=HOSTILE, ended=st.sampled_from(["", "Called off"]))
def test_no_text_adds_a_content_line(words: list[str], business: str, ended: str) -> None:
    rendered = calendar(
        [walk_of(words)],
        lambda walk: Entry(walk, "https://example.org/", "https://example.org/h.pdf", 2, "few", ended),
        Business(name=business, email="a@example.org"),
        address="https://example.org/walks.ics",
        method="PUBLISH",
    )
    assert rendered.left_out == ()
    lines = lines_of(rendered.content)
    inside = lines[lines.index("BEGIN:VEVENT") + 1 : lines.index("END:VEVENT")]
    names = [line.split(":")[0].split(";")[0] for line in inside]
    assert sorted(names) == sorted(PROPERTIES)
    assert lines.count("BEGIN:VEVENT") == 1
    (one,) = icalendar.Calendar.from_ical(rendered.content).walk("VEVENT")
    assert set(one) == PROPERTIES


def test_the_check_sees_an_injected_line() -> None:
    """Without the cleaning the same walk breaks the calendar: the check above can fail."""
    words = ["Wood\u2028ATTENDEE:mailto:x@example.org", *[""] * 7]
    event_text.cache_clear()
    with patch("walks.feeds.event.one_line", lambda text: text):
        rendered = calendar(
            [walk_of(words)],
            lambda walk: Entry(walk, "https://example.org/", "https://example.org/h"),
            Business(name="x"),
        )
    assert "ATTENDEE:mailto:x@example.org" in lines_of(rendered.content)
