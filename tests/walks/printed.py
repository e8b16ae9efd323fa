"""Reading printed documents back, for their tests."""

from __future__ import annotations

import io
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from functools import lru_cache

import pikepdf
import pypdf

from curriculum.models import Taxon
from curriculum.services.load_starter import load_starter
from foraywright.floor.pdf import render_pdf
from tests.cast import World
from walks.models import Site, ThemeTaxon, Walk
from walks.queries import with_everything


@dataclass(frozen=True)
class Read:
    """A PDF read back: its text by page, and where its bookmarks point (from page 0)."""

    content: bytes
    pages: tuple[str, ...]
    bookmarks: tuple[tuple[str, int], ...]

    @property
    def text(self) -> str:
        return "\n".join(self.pages)

    def sheet(self, name: str) -> tuple[str, ...]:
        """The pages from the bookmark `name` to the next bookmark."""
        starts = [number for _, number in self.bookmarks] + [len(self.pages)]
        place = next(place for place, (title, _) in enumerate(self.bookmarks) if title == name)
        return self.pages[starts[place] : starts[place + 1]]


@lru_cache(maxsize=16)
def printed(html: str) -> Read:
    """Set `html` once a process, and read it back."""
    content = render_pdf(html, identifier="suite", seconds=150).content
    reader = pypdf.PdfReader(io.BytesIO(content))
    pages = tuple(_on_one_line(page.extract_text()) for page in reader.pages)
    top = [one for one in reader.outline if not isinstance(one, list)]
    bookmarks = tuple((str(one.title), int(reader.get_destination_page_number(one) or 0)) for one in top)
    return Read(content, pages, bookmarks)


def _on_one_line(text: str) -> str:
    return " ".join(text.replace("’", "'").split())


def faults_of_accessibility(content: bytes) -> list[str]:
    """What PDF/UA-1 asks for and this file lacks, and fonts that are not embedded."""
    with pikepdf.open(io.BytesIO(content)) as pdf:
        root = pdf.Root
        faults = [f"no {key}" for key in ("/StructTreeRoot", "/Lang", "/MarkInfo") if key not in root]
        if not root.get("/ViewerPreferences", {}).get("/DisplayDocTitle"):
            faults.append("title is not shown")
        with pdf.open_metadata() as metadata:
            if metadata.get("pdfuaid:part") != "1":
                faults.append("no PDF/UA identifier")
        fonts = [one for page in pdf.pages for one in page.get("/Resources", {}).get("/Font", {}).values()]
        return faults + [f"{font['/BaseFont']} not embedded" for font in fonts if not _is_embedded(font)]


def _is_embedded(font: pikepdf.Object) -> bool:
    inner = font["/DescendantFonts"][0] if "/DescendantFonts" in font else font
    return any(key in inner["/FontDescriptor"] for key in ("/FontFile", "/FontFile2", "/FontFile3"))


def teach(world: World, *taxa: str, now: datetime) -> None:
    """Load the curriculum and let the world's theme want `taxa`; the walk is in a broadleaved wood."""
    load_starter(by="command", now=now)
    Site.objects.update(habitats=["broadleaved_wood"])
    for place, key in enumerate(taxa):
        ThemeTaxon.objects.create(theme=world.theme, taxon=Taxon.objects.get(key=key), place=place)


def the_walk(world: World) -> Walk:
    """The world's walk as documents read it, fresh from the database."""
    return with_everything(Walk.objects.filter(offering=world.offering)).get()


def sizes_of_letters(content: bytes) -> list[float]:
    """The size of every piece of text as it stands on paper, in points, through all transforms and drawings."""
    with pikepdf.open(io.BytesIO(content)) as pdf:
        return [size for page in pdf.pages for size in _sizes(page, pikepdf.Matrix())]


def _sizes(drawn: pikepdf.Page | pikepdf.Object, start: pikepdf.Matrix) -> Iterator[float]:
    now, kept, size, text = start, [], 0.0, pikepdf.Matrix()
    for operands, operator in pikepdf.parse_content_stream(drawn):
        word = str(operator)
        if word == "q":
            kept.append(now)
        elif word == "Q":
            now = kept.pop()
        elif word == "cm":
            now = pikepdf.Matrix(*map(float, operands)) @ now
        elif word == "Tf":
            size = float(operands[1])
        elif word == "Tm":
            text = pikepdf.Matrix(*map(float, operands))
        elif word in ("Tj", "TJ"):
            yield abs(size * (text @ now).d)
        elif word == "Do" and (form := drawn["/Resources"]["/XObject"][operands[0]])["/Subtype"] == "/Form":
            yield from _sizes(form, pikepdf.Matrix(*map(float, form.get("/Matrix", (1, 0, 0, 1, 0, 0)))) @ now)
