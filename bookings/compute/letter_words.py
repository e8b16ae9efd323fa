"""The words of a letter in a small language: Markdown, with placeholders such as {walk_title} from a closed list.

A placeholder is put in after the Markdown was read and made safe, so that what people typed stays text. A paragraph
with a placeholder that has nothing to say is left out.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from html import escape

import nh3
from markdown_it import MarkdownIt
from markdown_it.token import Token

PLACEHOLDER = re.compile(r"\{([a-z_]+)\}")
BRACES = re.compile(r"\{[^{}\n]*\}|[{}]")
TAGS = {"p", "h1", "h2", "strong", "em", "ul", "ol", "li", "a", "br", "blockquote"}
MARKDOWN = MarkdownIt("commonmark", {"html": False}).disable(["image", "code", "fence", "backticks", "html_inline"])
LONGEST_SUBJECT = 120
LONGEST_BODY = 6000


@dataclass(frozen=True, slots=True)
class Words:
    """What a letter says in its own words: one line of subject, a body in the language above."""

    subject: str
    body: str


def words_from(text: str) -> Words:
    """Read a file of words: the subject on the first line, the body after it."""
    subject, _, body = text.partition("\n")
    return Words(subject.removeprefix("Subject:").strip(), body.strip())


def reasons_against(words: Words, *, subject: Collection[str], body: Collection[str]) -> Iterator[str]:
    """Why `words` cannot be a letter, `subject` and `body` being the placeholders known in each."""
    if not words.subject.strip():
        yield "The subject is empty."
    if not words.body.strip():
        yield "The text is empty."
    if len(words.subject) > LONGEST_SUBJECT:
        yield f"The subject is longer than {LONGEST_SUBJECT} characters."
    if len(words.body) > LONGEST_BODY:
        yield f"The text is longer than {LONGEST_BODY} characters."
    yield from _unknown(words.subject, subject, "in the subject")
    read = _plain(MARKDOWN.parse(words.body))
    yield from _unknown(f"{words.body}\n{read}", body, "in the text")
    if "%7B" in read:
        yield "A placeholder in the address of a link leads nowhere. Write it beside the link, or the address itself."


def _unknown(text: str, known: Collection[str], where: str) -> Iterator[str]:
    for found in dict.fromkeys(BRACES.findall(text)):
        if found[1:-1] not in known or len(found) == 1:
            listed = ", ".join(f"{{{name}}}" for name in sorted(known))
            yield f"“{found}” {where} is no placeholder of this letter. Those are: {listed}."


def in_subject(words: Words, values: Mapping[str, str]) -> str:
    """The subject with its values, on one line. Raises KeyError for a placeholder without a value."""
    return " ".join(_filled(words.subject, values).split())


def in_text(words: Words, values: Mapping[str, str]) -> str:
    """The body as plain text."""
    return _filled(_plain(MARKDOWN.parse(_with_something_to_say(words.body, values))), values)


def in_html(words: Words, values: Mapping[str, str]) -> str:
    """The body as HTML: only harmless tags, every value escaped."""
    made = MARKDOWN.render(_with_something_to_say(words.body, values))
    clean = nh3.clean(made, tags=TAGS, attributes={"a": {"href"}}, url_schemes={"https", "http", "mailto", "tel"})
    return PLACEHOLDER.sub(lambda found: escape(values[found[1]]).replace("\n", "<br>"), clean)


def _filled(text: str, values: Mapping[str, str]) -> str:
    return PLACEHOLDER.sub(lambda found: values[found[1]], text)


def _with_something_to_say(body: str, values: Mapping[str, str]) -> str:
    paragraphs = re.split(r"\n\s*\n", body.replace("\r\n", "\n").strip())
    return "\n\n".join(one for one in paragraphs if all(values[name] for name in PLACEHOLDER.findall(one)))


def _plain(tokens: list[Token]) -> str:
    lines: list[str] = []
    bullet = ""
    for token in tokens:
        if token.type == "list_item_open":
            bullet = f"{token.info}. " if token.info else "- "
        elif token.type == "inline":
            lines.append(bullet + "".join(_pieces(token.children or [])))
            bullet = ""
    return re.sub(r"\n\n(?=- |\d+\. )", "\n", "\n\n".join(lines))


def _pieces(tokens: list[Token]) -> Iterator[str]:
    address = ""
    for token in tokens:
        if token.type == "link_open":
            address = str(token.attrGet("href") or "")
        elif token.type == "link_close":
            yield f" ({address})"
        else:
            yield "\n" if token.type in ("softbreak", "hardbreak") else token.content
