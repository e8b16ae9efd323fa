"""What the curriculum refuses."""

from foraywright.floor.refusals import Refusal


class FilesRefused(Refusal):
    """The starter files cannot be loaded; nothing was written."""

    code = "files_refused"


class NotSigned(Refusal):
    """A signature was refused; the account stays a draft."""

    code = "not_signed"
