"""What the tests of the site pages share: signed-in clients, the words of an answer, the fault at a field."""

from __future__ import annotations

from bs4 import BeautifulSoup


def field_error(content: bytes, field: str) -> str:
    """What stands at a field as its fault."""
    holder = BeautifulSoup(content, "html.parser").find(id=f"div_id_{field}")
    assert holder is not None, field
    return " ".join(one.get_text(" ", strip=True) for one in holder.select(".invalid-feedback"))
