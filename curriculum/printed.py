"""Species sheets as they are printed: alone, or in the booklet of a walk."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property

from django.conf import settings
from django.urls import reverse

from curriculum.compute.drawing.sheet import Plate
from curriculum.compute.sheet import LookalikeNote, Row, Sheet
from curriculum.compute.sheet_room import Room, room
from curriculum.drawings import drawing_of, figure_of, pair_drawing_of
from curriculum.models import AccountVersion, Document
from curriculum.queries import AccountInUse, accounts_in_use, jurisdictions, sheets
from curriculum.services.want_document import want_document
from foraywright.floor.models import Business
from foraywright.floor.printing import render_document

STANDARD, LARGE = "standard", "large"
"""The variants of a document. Large print keeps to the minimum standard of the UK Association for Accessible Formats
(MS03, 2012, and G003, 2019: 16 point or more, labels too, no italics, one column, aligned to the left)."""


@dataclass(frozen=True)
class PrintedSheet:
    """One sheet as it is printed. `others`: the lookalikes in use, by taxon, of those that can be drawn beside it."""

    use: AccountInUse
    sheet: Sheet
    others: Mapping[str, AccountInUse]
    large: bool = False

    @cached_property
    def first(self) -> tuple[Row, ...]:
        """The rows to look at first."""
        return tuple(row for row in self.sheet.rows if row.key in self.use.account.look_order)

    @cached_property
    def rest(self) -> tuple[Row, ...]:
        """All other rows."""
        return tuple(row for row in self.sheet.rows if row not in self.first)

    @cached_property
    def room(self) -> Room:
        """What of the sheet fits on its two pages."""
        return room(self.sheet, self.first, self.others, large=self.large)

    @property
    def drawing(self) -> Plate:
        """The plate of the account; in large print the figure alone, without its small letters."""
        if self.large:
            return figure_of(self.use)
        return drawing_of(self.use, details="details" in self.room.kept)

    @property
    def dangers(self) -> list[tuple[LookalikeNote, Plate | None]]:
        """The dangerous lookalikes, each with the drawing of both where there is room for it."""
        return [(one, self.pair_of(one) if one.taxon in self.room.pairs else None) for one in self.sheet.dangers]

    def pair_of(self, one: LookalikeNote) -> Plate | None:
        """The drawing of this taxon and a dangerous lookalike; None where there is nothing to be marked."""
        other = self.others.get(one.taxon or "")
        return pair_drawing_of(self.use, other, one.apart) if other else None

    @property
    def state_address(self) -> str:
        """Where anybody reads whether this version still holds: what the code on the sheet leads to."""
        return settings.SITE_ADDRESS + reverse("sheet_state", args=[self.use.version.public_id])

    @property
    def anchor(self) -> str:
        """Name of the sheet within the document."""
        return f"sheet-{self.sheet.taxon}"


def printed_sheets(
    keys: Iterable[str], accounts: Mapping[str, AccountInUse], variant: str = STANDARD
) -> list[PrintedSheet]:
    """The sheets of the taxa `keys`, in that order, as print/sheet.html takes them."""
    return [
        PrintedSheet(use, sheet, _drawable(use, sheet, accounts), variant == LARGE)
        for use, sheet in sheets(keys, accounts)
    ]


def _drawable(use: AccountInUse, sheet: Sheet, accounts: Mapping[str, AccountInUse]) -> dict[str, AccountInUse]:
    """The dangerous lookalikes of the same group that have something to be marked."""
    helped = [one.taxon for one in sheet.dangers if one.taxon and any(row.helps for row in one.apart.rows)]
    return {key: accounts[key] for key in helped if accounts[key].account.group == use.account.group}


def sheet_document(key: str, accounts: Mapping[str, AccountInUse], variant: str) -> tuple[str, list[AccountVersion]]:
    """The sheet of one taxon as HTML, and every account version that it is printed from. KeyError for no account."""
    (one,) = printed_sheets([key], accounts, variant)
    law = jurisdictions()[Business.objects.get().jurisdiction]
    html = render_document("print/one_sheet.html", {"one": one, "law": law, "mark": None, "large": one.large})
    taxa = {key, *(other.taxon for other in one.use.account.lookalikes if other.taxon)}
    return html, [accounts[taxon].version for taxon in sorted(taxa & set(accounts))]


def want_sheet(key: str, now: datetime, variant: str = STANDARD) -> Document:
    """The sheet of a taxon as the facts stand, asked for where it does not exist yet. KeyError for no account."""
    accounts = accounts_in_use()
    html, versions = sheet_document(key, accounts, variant)
    taxon = accounts[key].taxon
    return want_document("sheet", taxon.public_id, html, versions=versions, variant=variant, now=now)
