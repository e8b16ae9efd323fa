"""What is handed out of a person as a file."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from django.http import HttpResponse, HttpResponseBase

from bookings.views.by_link import kept_from_others


def as_file(found: Mapping[str, Any], name: str) -> HttpResponseBase:
    """The answer that downloads `found` as JSON, and that nobody keeps on the way."""
    answer = HttpResponse(json.dumps(found, ensure_ascii=False, indent=2), content_type="application/json")
    answer["Content-Disposition"] = f'attachment; filename="{name}.json"'
    return kept_from_others(answer)
