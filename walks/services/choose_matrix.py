"""Choose the risk matrix that the business reads risk off."""

from __future__ import annotations

from datetime import datetime

from foraywright.floor.acts import By, act, record
from foraywright.floor.models import Business, PolicyVersion
from walks.assessments import risk_matrices
from walks.errors import DraftNotChanged


@act
def choose_matrix(key: str, *, by: By, now: datetime) -> PolicyVersion:
    """Use the matrix `key` from now on, as a new version of the policy. Raises DraftNotChanged where there is none.

    The business is locked: two people would otherwise write one version number.
    """
    if key not in risk_matrices():
        raise DraftNotChanged("The matrix was not changed.", why=[f"There is no matrix “{key}”."])
    business = Business.objects.select_for_update().get()
    kind = PolicyVersion.Kind.HAZARDS
    newest = PolicyVersion.objects.filter(kind=kind).order_by("-number").values_list("number", flat=True).first() or 0
    matrix = risk_matrices()[key]
    body = {"matrix": key, "version": matrix.version}
    chosen = PolicyVersion.objects.create(kind=kind, number=newest + 1, body=body, source=matrix.source, since=now)
    record("choose risk matrix", business, by=by, now=now, fields=("matrix",), reason=key)
    return chosen
