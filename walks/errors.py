"""What the room of walks refuses."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from foraywright.floor.refusals import Refusal


class WalkNotScheduled(Refusal):
    """The walk was not put in the calendar. `fields` holds the sentences by form field ("" for the whole form)."""

    code = "walk_not_scheduled"

    def __init__(self, fields: Mapping[str, Sequence[str]]) -> None:
        self.fields = fields
        super().__init__(
            "The walk was not scheduled.",
            why=[sentence for sentences in fields.values() for sentence in sentences],
            became="Nothing was saved.",
            now="Change what is marked and send it again.",
        )


class SiteNotAdded(Refusal):
    """The site was not saved."""

    code = "site_not_added"


class WalkNotPublished(Refusal):
    """The walk stays a draft."""

    code = "walk_not_published"


class WalkNotCalledOff(Refusal):
    """The walk stands as it was."""

    code = "walk_not_called_off"
