"""Saying to whoever pressed a button how it went."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from django.contrib import messages
from django.http import HttpRequest

from foraywright.floor.refusals import Refusal, SeenOtherwise


@contextmanager
def telling(request: HttpRequest, done: str = "") -> Iterator[None]:
    """Carry out the act inside; say `done` where it was, or the refusal's sentence where it was not.

    The page that is shown next says it. Everything after the act in the block is left out by a refusal too.
    `SeenOtherwise` goes on to the view, which shows its page anew.
    """
    try:
        yield
    except SeenOtherwise:
        raise
    except Refusal as refused:
        messages.error(request, refused.sentence)
    else:
        if done:
            messages.success(request, done)
