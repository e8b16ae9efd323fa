"""The handout booklet, read back from the PDF."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest

from curriculum.models import AccountVersion, Document, SignOff
from curriculum.queries import accounts_in_use
from foraywright.floor.pdf import PdfFailed, render_pdf
from tests.cast import World
from tests.walks.printed import faults_of_accessibility, printed, teach, the_walk
from walks.documents import booklet, want_booklet, want_booklets
from walks.models import Guide, Site, Theme

OYSTER = "pleurotus-ostreatus"
HOSTILE = "\u202eevil \u2067 <script>x</script> <b>" + "forest " * 280 + "m" * 2000


@pytest.fixture
def short(world: World, now: datetime) -> World:
    """A walk whose theme wants the grey oyster alone."""
    teach(world, OYSTER, now=now)
    return world


def html_of(world: World) -> str:
    return booklet(the_walk(world), accounts_in_use())[0]


def test_poisonous_sheets_say_what_they_do_and_what_to_do(short: World) -> None:
    page = printed(html_of(short)).sheet("Angel's Wings")[0]
    assert "First signs 24 hours to 31 days after the meal" in page
    assert "Call 999 or 112" in page
    assert "do not wait for signs" in page


def test_it_is_tagged_and_its_fonts_are_embedded(short: World) -> None:
    assert faults_of_accessibility(printed(html_of(short)).content) == []


def test_contents_and_index_give_the_page(short: World) -> None:
    read = printed(html_of(short))
    number = dict(read.bookmarks)["Angel's Wings"] + 1
    assert "DEADLY Never for eating" in read.pages[number - 1]
    assert "Angel's Wings" in read.pages[number - 1]
    assert f"Pleurocybella porrigens DEADLY {number}" in read.pages[1]
    assert f"Pleurocybella porrigens {number}" in read.pages[dict(read.bookmarks)["Index"]]


def test_cover_names_walk_and_cautions(short: World) -> None:
    cover = printed(html_of(short)).pages[0]
    for words in (
        "Cast and Company",
        "The bare wood",
        "Saturday 3 October 2026, 10 am to 1 pm",
        "Gwen Guide, who leads; Harry Guide",
        "never an identification authority",
        "2 of the accounts in this booklet have not been signed",
    ):
        assert words in cover


def test_others_are_names_to_look_at_only(short: World) -> None:
    read = printed(html_of(short))
    assert [title for title, _ in read.bookmarks] == [
        "The bare wood",
        "What we hope to meet",
        "Keys",
        "Grey Oyster",
        "Angel's Wings",
        "Index",
    ]
    _, _, look_only = read.pages[1].partition("look only")
    assert "DEADLY Death Cap" in look_only


def test_memory_is_said(short: World) -> None:
    sheet = " ".join(printed(html_of(short)).sheet("Grey Oyster"))
    assert "From memory, not checked against a source:" in sheet
    assert "cook it through; cut away the stem base" in sheet
    assert "No reviewer has signed this account" in sheet


def test_the_demonstration_signature_is_called_one(short: World, now: datetime) -> None:
    for version in AccountVersion.objects.filter(taxon__key__in=[OYSTER, "pleurocybella-porrigens"]):
        SignOff.objects.create(
            version=version,
            reviewer=short.rosa,
            reviewer_name="Rosa",
            competence="none",
            kind="demonstration",
            signed_at=now,
            review_by=now.date() + timedelta(days=365),
            rules_version=1,
        )
    read = printed(html_of(short))
    assert "2 of the accounts in this booklet carry a demonstration signature, checked by nobody" in read.pages[0]
    assert "DEMONSTRATION SIGNATURE Checked by nobody." in " ".join(read.sheet("Angel's Wings"))


def test_hostile_words_move_no_warning(short: World) -> None:
    Site.objects.update(name=HOSTILE, meeting_point=HOSTILE, picking_rules=HOSTILE, going=HOSTILE)
    Theme.objects.update(lead=HOSTILE)
    html = html_of(short)
    assert "\u202e" not in html
    assert "<script>" not in html
    read = printed(html)
    warning = next(page for page in read.pages if "BEFORE ALL ELSE" in page.upper())
    assert "What was allowed on this walk is not allowed for that on another day." in warning
    steps = next(page for page in read.pages if "If somebody has eaten" in page)
    assert "Do not make anybody vomit. Not sure: NHS 111" in steps
    assert "DEADLY Angel's Wings" in read.sheet("Grey Oyster")[0]
    assert len(read.sheet("Grey Oyster")) <= 2


def test_a_document_reads_no_file_and_no_network() -> None:
    for address in ("file:///etc/passwd", "http://127.0.0.1/x.png", "asset:../settings/base.py"):
        with pytest.raises(PdfFailed, match="may not read"):
            render_pdf(f'<html><body><img src="{address}" alt=""></body></html>', identifier="x", seconds=30)


def test_the_same_facts_are_built_once(short: World, now: datetime) -> None:
    first = want_booklet(the_walk(short), now)
    again = want_booklet(the_walk(short), now + timedelta(days=3))
    assert (first.pk, Document.objects.count()) == (again.pk, 1)


def test_a_changed_fact_changes_the_key(short: World, now: datetime) -> None:
    keys = {want_booklet(the_walk(short), now).manifest_hash}
    Site.objects.update(going="over the stile")
    keys.add(want_booklet(the_walk(short), now).manifest_hash)
    Guide.objects.filter(pk=short.gwen.pk).update(name="Gwendolen Guide")
    keys.add(want_booklet(the_walk(short), now).manifest_hash)
    old = AccountVersion.objects.get(taxon__key="pleurocybella-porrigens")
    AccountVersion.objects.create(
        taxon=old.taxon,
        number=old.number + 1,
        body=old.body.replace("Pure white thin wings", "Thin white wings"),
        sha256="f" * 64,
        vocabulary_version=old.vocabulary_version,
        edibility=old.edibility,
        role=old.role,
        origin="person",
        created_at=now,
    )
    keys.add(want_booklet(the_walk(short), now).manifest_hash)
    assert len(keys) == 4


def test_it_contains_both_sides_of_each_pair(short: World, now: datetime) -> None:
    contained = set(want_booklet(the_walk(short), now).versions.values_list("taxon__key", flat=True))
    assert {OYSTER, "pleurocybella-porrigens", "sarcomyxa-serotina", "pleurotus-pulmonarius"} <= contained


def test_only_published_walks_of_the_next_weeks_are_wanted(short: World, now: datetime) -> None:
    assert [one.subject_id for one in want_booklets(now)] == [the_walk(short).public_id]
    assert want_booklets(now - timedelta(days=90)) == []
    short.offering.state = "draft"
    short.offering.save()
    assert want_booklets(now) == []
