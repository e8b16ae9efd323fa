"""All accounts to take away, for the reviewer."""

from __future__ import annotations

from io import BytesIO
from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo

from django.http import Http404, HttpRequest, HttpResponse
from django.views.decorators.http import require_safe

from curriculum.compute.exchange.exports import FORMS, exported
from curriculum.queries import accounts_in_use, vocabulary
from foraywright.floor.door import names_act


@names_act("account.review")
@require_safe
def staff_export(request: HttpRequest, form: str) -> HttpResponse:
    """The accounts in use as a zip of DELTA, CSV or TOML files. Two queries."""
    if form not in FORMS:
        raise Http404
    accounts = [one.account for one in accounts_in_use().values()]
    answer = HttpResponse(_zipped(exported(form, accounts, vocabulary())), content_type="application/zip")
    answer["Content-Disposition"] = f'attachment; filename="curriculum-{form}.zip"'
    return answer


def _zipped(files: dict[str, str]) -> bytes:
    """The same bytes for the same texts: entries carry no time of day."""
    out = BytesIO()
    with ZipFile(out, "w", ZIP_DEFLATED) as archive:
        for path, text in files.items():
            archive.writestr(ZipInfo(path), text.encode("utf-8"), ZIP_DEFLATED)
    return out.getvalue()
