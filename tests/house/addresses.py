"""Every address of the site by its name."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from django.urls import URLPattern, get_resolver

from foraywright.floor.middleware import GUARDED_BY_OTHERS


def patterns(resolver: Any = None) -> Iterator[URLPattern]:
    """Every pattern of the URLconf."""
    for one in (resolver or get_resolver()).url_patterns:
        if isinstance(one, URLPattern):
            yield one
        else:
            yield from patterns(one)


def our_views() -> dict[str, Any]:
    """Our own views by the name of their address; those of the login library guard themselves."""
    ours = [one for one in patterns() if not one.callback.__module__.startswith(GUARDED_BY_OTHERS)]
    return {str(one.name): one.callback for one in ours}
