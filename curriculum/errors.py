"""What the curriculum refuses."""

from foraywright.floor.refusals import Refusal


class FilesRefused(Refusal):
    """The starter files cannot be loaded; nothing was written."""

    code = "files_refused"


class NotRevised(Refusal):
    """No draft was written; the version in use stays."""

    code = "not_revised"


class NotWithdrawn(Refusal):
    """The version stays as it was."""

    code = "not_withdrawn"


class NotInvited(Refusal):
    """No invitation was written."""

    code = "not_invited"


class NotSigned(Refusal):
    """A signature was refused; the account stays a draft."""

    code = "not_signed"
