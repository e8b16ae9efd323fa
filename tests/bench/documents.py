"""One sheet and a booklet of thirty, against bare WeasyPrint on the same HTML; and a booklet wanted twice."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import count
from unittest.mock import patch

from weasyprint import HTML

from curriculum.compute.expected import Ground, expectation
from curriculum.models import Taxon
from curriculum.printed import LARGE, STANDARD, sheet_document
from curriculum.queries import accounts_in_use, vocabulary
from curriculum.services import build_document
from curriculum.services.load_starter import load_starter
from foraywright.floor.pdf import render_pdf
from foraywright.floor.pdf_child import AssetFetcher
from tests.bench.clock import line, seconds
from tests.cast import World, make_world
from tests.conftest import NOW
from walks.documents import booklet, want_booklet
from walks.models import ThemeTaxon, Walk

SHEET = "pleurotus-ostreatus"
SHEETS = 30


def lines() -> Iterator[str]:
    """The documents, on the cast and the shipped curriculum."""
    world = make_world(now=NOW)
    load_starter(by="command", now=NOW)
    accounts = accounts_in_use()
    few = {f"one sheet, {variant}": sheet_document(SHEET, accounts, variant)[0] for variant in (STANDARD, LARGE)}
    for what, html in (few | _booklet(world)).items():
        ours = seconds(lambda html=html: render_pdf(html, identifier="bench", seconds=300), runs=1)
        bare = seconds(lambda html=html: _bare(html), runs=1)
        yield line(what, ours, bare, "bare WeasyPrint in this process, no tags, no child")
    yield from _twice(_walk(world, 1))


def _booklet(world: World) -> dict[str, str]:
    """A booklet with so many sheets or a few more: the theme grows until it has them."""
    for size in count(SHEETS // 3):
        html, _ = booklet(_walk(world, size), accounts_in_use())
        sheets = html.count('id="sheet-')
        if sheets >= SHEETS:
            return {f"booklet of {sheets} sheets": html}
    raise AssertionError("The curriculum has too few sheets.")


def _twice(walk: Walk) -> Iterator[str]:
    """How often the PDF maker runs where the same booklet is wanted and built twice."""
    runs = count()
    with patch.object(build_document, "render_pdf", side_effect=lambda *a, **k: (next(runs), render_pdf(*a, **k))[1]):
        for _ in range(2):
            want_booklet(walk, NOW)
            build_document.build_next_document(now=NOW)
    yield f"wanted twice with nothing changed: the PDF maker ran {next(runs)} time(s); it must run once"


def _walk(world: World, size: int) -> Walk:
    """The walk of the cast, its theme made of so many taught species, likeliest first."""
    accounts = [one.account for one in accounts_in_use().values()]
    ground, day = Ground(frozenset(), frozenset()), NOW.date()
    likely = expectation(accounts, day=day, ground=ground, wanted=(), vocabulary=vocabulary()).taught
    ThemeTaxon.objects.filter(theme=world.theme).delete()
    for place, one in enumerate(likely[:size]):
        ThemeTaxon.objects.create(theme=world.theme, taxon=Taxon.objects.get(key=one.account.taxon), place=place)
    return Walk.objects.select_related("offering__theme", "site").get(offering=world.offering)


def _bare(html: str) -> bytes:
    fetcher = AssetFetcher(allowed_protocols=["asset"])
    return HTML(string=html, base_url="asset:/", url_fetcher=fetcher).write_pdf()
