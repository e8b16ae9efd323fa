"""The pack of one walk: handout, assessment, check sheet, register and calendar entry, for a wood without a signal."""

from __future__ import annotations

import difflib
import errno
import tempfile
from collections.abc import Iterable, Mapping
from datetime import datetime
from pathlib import Path

from bookings.coming import coming_on
from bookings.documents import register_pdf
from curriculum.models import Document
from foraywright.floor.models import Business, Slug
from foraywright.floor.pdf import PdfFailed, render_pdf
from foraywright.floor.refusals import Refusal
from walks.documents import session_now, want_booklet
from walks.feeds.calendar import calendar
from walks.feeds.entries import public_entries
from walks.models import Offering, Walk
from walks.queries import offering_slugs, with_everything
from walks.risk_document import day_check_pdf, want_risk_assessment

SECONDS = 150


class NoPack(Refusal):
    """No pack was written; whatever the folder held is as it was."""

    code = "no_pack"


def walk_named(text: str, *, now: datetime) -> Walk:
    """The walk with the public id `text`; or of the offering with that public id or slug the session that comes next.

    Raises NoPack, which names the nearest walks.
    """
    walk = with_everything(Walk.objects.filter(public_id=text)).first()
    if walk is not None:
        return walk
    slug = Slug.objects.filter(kind="offering", text=text).first()
    offering = Offering.objects.filter(public_id=slug.object_id if slug else text).first()
    if offering is None:
        raise NoPack(f"There is no walk “{text}”.", became="Nothing was written.", now=_nearest(text))
    return session_now(offering, now)


def _nearest(text: str) -> str:
    known = sorted(set(offering_slugs().values()))
    near = difflib.get_close_matches(text, known, n=5, cutoff=0.3) or known[:5]
    return (
        f"Give the public id or the slug of a walk, for example: {', '.join(near)}." if near else "Schedule one first."
    )


def pack(walk: Walk, *, now: datetime) -> dict[str, bytes]:
    """The files of the pack by name. Raises NoPack where one of them cannot be made."""
    coming = coming_on(walk, now=now)
    try:
        return {
            "handouts.pdf": _pdf(want_booklet(walk, now)),
            "risk-assessment.pdf": _pdf(want_risk_assessment(walk, coming, now)),
            "check-sheet.pdf": day_check_pdf(walk, coming).content,
            "register.pdf": register_pdf(walk, now).content,
            "walk.ics": _calendar(walk, now=now),
        }
    except PdfFailed as failed:
        raise NoPack(
            "The pack was not made.", why=[str(failed)], became="Nothing was written.", now="Try again."
        ) from failed


def _pdf(document: Document) -> bytes:
    """The file that the worker built; set anew from the same text where it has not come to it yet."""
    if document.is_ready:
        with document.file.open("rb") as file:
            return file.read()
    return render_pdf(document.html, identifier=document.manifest_hash, seconds=SECONDS).content


def _calendar(walk: Walk, *, now: datetime) -> bytes:
    entry_of = public_entries([walk], offering_slugs(), now=now)
    return calendar([walk], entry_of, Business.objects.get()).content


def write_pack(files: Mapping[str, bytes], folder: Path) -> list[Path]:
    """Write all files into `folder`, or none: they are written beside their places and then moved. Raises NoPack."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
        _refuse_folders_in_the_way(files, folder)
        with tempfile.TemporaryDirectory(dir=folder, prefix=".pack-") as beside:
            for name, content in files.items():
                (Path(beside) / name).write_bytes(content)
            return [(Path(beside) / name).replace(folder / name) for name in files]
    except OSError as fault:
        raise NoPack(
            f"The pack was not written to {folder}.",
            why=[f"{fault.strerror or fault}."],
            became="What was in that folder is as it was.",
            now="Choose a folder that you may write to.",
        ) from fault


def _refuse_folders_in_the_way(names: Iterable[str], folder: Path) -> None:
    """A folder in the place of one file would stop the moving half-way."""
    for name in names:
        if (folder / name).is_dir():
            raise IsADirectoryError(errno.EISDIR, f"{name} is a folder there")
