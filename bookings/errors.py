"""What the room of bookings refuses."""

from __future__ import annotations

from foraywright.floor.refusals import Refusal

SAY_WHY = "Say in a line why, so that it is understood later."


class NotBooked(Refusal):
    """No place was taken and nothing is owed. `would_fit` = how many of the party would have fitted."""

    code = "not_booked"

    def __init__(self, *args: object, would_fit: int = 0, **kwargs: object) -> None:
        self.would_fit = would_fit
        super().__init__(*args, **kwargs)  # type: ignore[arg-type]


class WalkUpNotSettled(Refusal):
    """What was broken at the meeting point still waits for somebody to look at it."""

    code = "walk_up_not_settled"


class NotSettled(Refusal):
    """The recalled copy is still open."""

    code = "not_settled"


class LetterNotSettled(Refusal):
    """The letter still waits for a person."""

    code = "letter_not_settled"


class LetterTextNotKept(Refusal):
    """Letters go out in the words of before."""

    code = "letter_text_not_kept"


class IncidentNotKept(Refusal):
    """Nothing was kept of the report."""

    code = "incident_not_kept"


class NotCancelled(Refusal):
    """The booking stands as it was."""

    code = "not_cancelled"


class NotRecorded(Refusal):
    """No payment was written."""

    code = "not_recorded"


class NotBrought(Refusal):
    """What the party brings stays as it was said before."""

    code = "not_brought"


class NotQuoted(Refusal):
    """No quote was made, or none was accepted."""

    code = "not_quoted"


class NotPosted(Refusal):
    """The letter stays in the list."""

    code = "not_posted"


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


class NotExtended(Refusal):
    """The hold ends when it was to end."""

    code = "not_extended"


class NotConfirmed(Refusal):
    """Nothing was sold and nothing is owed."""

    code = "not_confirmed"


class NotJoined(Refusal):
    """The party is not on the waiting list."""

    code = "not_joined"


class NotChanged(Refusal):
    """The party and its money stay as they were."""

    code = "not_changed"


class NotMoved(Refusal):
    """The booking stays on the walk that it was for."""

    code = "not_moved"


class NotChosen(Refusal):
    """What was chosen before stands."""

    code = "not_chosen"


class TooOften(Refusal):
    """Nothing was looked up or taken. `seconds` = when it may be tried again."""

    code = "too_often"

    def __init__(self, *args: object, seconds: int, **kwargs: object) -> None:
        self.seconds = seconds
        super().__init__(*args, **kwargs)  # type: ignore[arg-type]


class NotMarked(Refusal):
    """No attendance was marked."""

    code = "not_marked"


class NotErased(Refusal):
    """Everything personal stays as it was."""

    code = "not_erased"


class NotTakenIn(Refusal):
    """No line of the statement was taken in."""

    code = "not_taken_in"


class NotMatched(Refusal):
    """The bank's line waits as before."""

    code = "not_matched"


class NotIssued(Refusal):
    """No code and no voucher was issued, and no money was written."""

    code = "not_issued"


class NotPaidByVoucher(Refusal):
    """Nothing was taken from a voucher."""

    code = "not_paid_by_voucher"


class NotPaidOut(Refusal):
    """No refund was noted as paid."""

    code = "not_paid_out"


class NotTakenAlong(Refusal):
    """No copy of the register was made."""

    code = "not_taken_along"


class PolicyNotSet(Refusal):
    """The policy in force stays in force."""

    code = "policy_not_set"


class StaffNotSaved(Refusal):
    """The staff account stays as it was."""

    code = "staff_not_saved"


class NotInvoiced(Refusal):
    """No paper was issued, and no number used."""

    code = "not_invoiced"


class NotShared(Refusal):
    """Nothing changed on the list of lifts, and no details were shown."""

    code = "not_shared"
