"""Lines of the log without what people typed, and without the links that are a permission."""

from __future__ import annotations

import logging
import re
import traceback
from types import TracebackType

Fault = tuple[type[BaseException], BaseException, TracebackType | None] | tuple[None, None, None]


SECRET = re.compile(r"[\w-]{32}~[\w-]+|(?<=/reset/key/)[^/\s]+")
"""What `links.make_link` makes, and the login library for a new password: a page that is refused logs its address."""


class WithoutValues(logging.Formatter):
    """Says of a fault its types and the lines of code that it went through, never its message.

    A message repeats values: the row that a constraint refuses, the address that does not parse. The log is kept
    longer than they are, and read by others.
    """

    def format(self, record: logging.LogRecord) -> str:
        return SECRET.sub("…", super().format(record))

    def formatException(self, ei: Fault) -> str:
        found = traceback.TracebackException(*ei) if ei[1] is not None else None
        parts: list[str] = []
        while found is not None:
            kind = found.exc_type.__qualname__ if found.exc_type else "fault"
            parts.insert(0, f"{''.join(found.stack.format())}{kind}")
            found = found.__cause__ or (None if found.__suppress_context__ else found.__context__)
        return "\nwhich led to\n".join(parts)
