"""What the room of bookings refuses."""

from __future__ import annotations

from foraywright.floor.refusals import Refusal


class NotBooked(Refusal):
    """No place was taken and nothing is owed. `would_fit` = how many of the party would have fitted."""

    code = "not_booked"

    def __init__(self, *args: object, would_fit: int = 0, **kwargs: object) -> None:
        self.would_fit = would_fit
        super().__init__(*args, **kwargs)  # type: ignore[arg-type]


class NotSettled(Refusal):
    """The recalled copy is still open."""

    code = "not_settled"


class NotCancelled(Refusal):
    """The booking stands as it was."""

    code = "not_cancelled"


class NotRecorded(Refusal):
    """No payment was written."""

    code = "not_recorded"


class NotNamed(Refusal):
    """The names of the party stay as they were."""

    code = "not_named"


class NotDeclared(Refusal):
    """Nothing that was declared was kept."""

    code = "not_declared"


class NotAnswered(Refusal):
    """The access need still waits."""

    code = "not_answered"


class NotShown(Refusal):
    """Nothing was shown, and no look was written down."""

    code = "not_shown"


class WalkNotStarted(Refusal):
    """The walk has not begun."""

    code = "walk_not_started"
