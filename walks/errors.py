"""What the room of walks refuses."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from foraywright.floor.refusals import Refusal


class WalkNotScheduled(Refusal):
    """The walk was not put in the calendar. `fields` holds the sentences by form field ("" for the whole form);
    `by_session` the same for each session of a course, counted from 0."""

    code = "walk_not_scheduled"

    def __init__(
        self,
        fields: Mapping[str, Sequence[str]],
        by_session: Mapping[int, Mapping[str, Sequence[str]]] | None = None,
    ) -> None:
        self.fields = fields
        self.by_session = by_session or {}
        super().__init__(
            "The walk was not scheduled.",
            why=[sentence for sentences in fields.values() for sentence in sentences],
            became="Nothing was saved.",
            now="Change what is marked and send it again.",
        )

    @classmethod
    def of_sessions(cls, faults: Mapping[int, Mapping[str, list[str]]]) -> WalkNotScheduled:
        """The refusal of faults by session and field."""
        fields: dict[str, list[str]] = {}
        for one in faults.values():
            for field, sentences in one.items():
                fields.setdefault(field, []).extend(sentences)
        return cls({field: list(dict.fromkeys(sentences)) for field, sentences in fields.items()}, faults)


class WalkNotCopied(Refusal):
    """There is no counterpart of the walk a year later from this act."""

    code = "walk_not_copied"


class GuideNotSaved(Refusal):
    """What is recorded of the guide stays as it was."""

    code = "guide_not_saved"


class SiteNotSaved(Refusal):
    """The site stays as it was."""

    code = "site_not_saved"


class PaperNotSaved(Refusal):
    """The permission, cover or document is not on record."""

    code = "paper_not_saved"


class RouteRefused(Refusal):
    """The file is not the site's route."""

    code = "route_refused"


def refuse_backward_dates(what: str, facts: Mapping[str, Any]) -> None:
    """Raise PaperNotSaved where a paper's last day (`valid_to`) comes before its first (`valid_from`)."""
    if facts["valid_to"] < facts["valid_from"]:
        raise PaperNotSaved(
            f"{what} would end before it begins.",
            became="Nothing was saved.",
            now="Look at the two dates.",
            field="valid_to",
        )


class WalkNotPublished(Refusal):
    """The walk stays a draft."""

    code = "walk_not_published"


class WalkNotChanged(Refusal):
    """The walk stays as it was. `fields` holds sentences by form field, where they belong to one."""

    code = "walk_not_changed"

    def __init__(self, why: Sequence[str], *, fields: Mapping[str, Sequence[str]] | None = None) -> None:
        self.fields = fields or {"": list(why)}
        super().__init__(
            "The walk was not changed.",
            why=why,
            became="It stays as it was, and nobody is written to.",
            now="Put this right and send it again.",
        )


class TemplateNotSaved(Refusal):
    """No template was kept."""

    code = "template_not_saved"


class WalkNotCalledOff(Refusal):
    """The walk stands as it was."""

    code = "walk_not_called_off"


class DraftNotChanged(Refusal):
    """The draft of the assessment is as it was."""

    code = "draft_not_changed"


class AssessmentNotSigned(Refusal):
    """Nothing was signed."""

    code = "assessment_not_signed"


class AdditionNotSigned(Refusal):
    """The assessment is as stale as before."""

    code = "addition_not_signed"


class WeatherNotDecided(Refusal):
    """No decision on the weather was recorded."""

    code = "weather_not_decided"


class PlanNotAsked(Refusal):
    """No season plan was begun."""

    code = "plan_not_asked"


class ProposalNotDecided(Refusal):
    """The proposal stands as it was."""

    code = "proposal_not_decided"


class FindNotKept(Refusal):
    """The finds of the walk are as they were."""

    code = "find_not_kept"


class GuideNotMissed(Refusal):
    """Nobody was said to be missing."""

    code = "guide_not_missed"


class LeadNotTaken(Refusal):
    """Nobody else was made to lead."""

    code = "lead_not_taken"
