"""Loading the starter curriculum: all or nothing, and the second time nothing."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command
from django.db import connection
from django.test.utils import CaptureQueriesContext

from curriculum.errors import FilesRefused
from curriculum.models import AccountVersion, Citation, FactGroup, SignOff, Source, Taxon, TaxonName, VocabularyWord
from curriculum.queries import accounts_in_use, species_slugs
from curriculum.services.load_starter import STARTER, Loaded, load_starter
from curriculum.services.sign_off_account import Signature, sign_off_account
from foraywright.floor.models import AuditLine, Slug
from tests.cast import World
from tests.conftest import NOW
from tests.curriculum.garlic import GARLIC, garlic_files

pytestmark = [pytest.mark.database, pytest.mark.django_db]
ROWS = (AccountVersion, Citation, FactGroup, Source, Taxon, TaxonName, VocabularyWord, Slug, AuditLine)


def load(folder: Path) -> Loaded:
    return load_starter(folder, by="command", now=NOW)


def rows() -> list[list[dict[str, object]]]:
    return [list(model.objects.order_by("pk").values()) for model in ROWS]


def spoil(folder: Path, old: str, new: str, key: str = "allium-ursinum") -> None:
    file = folder / f"{key}.toml"
    text = file.read_text(encoding="utf-8")
    assert text.count(old) >= 1, f"{old!r} is not in {file.name}"
    file.write_text(text.replace(old, new, 1), encoding="utf-8")


def test_every_account_becomes_a_draft_with_names_sources_and_address(tmp_path: Path) -> None:
    assert load(garlic_files(tmp_path)) == Loaded(new=4, unchanged=0)
    one = accounts_in_use()["allium-ursinum"]
    assert (one.version.number, one.version.origin, one.sign_off) == (1, "starter", None)
    assert one.taxon.names.get(kind="accepted").name == "Allium ursinum"
    assert species_slugs()[one.taxon.public_id] == "allium-ursinum"
    groups = set(one.version.fact_groups.values_list("group", flat=True))
    assert {"edibility", "caveats", "season", "habitat", "characters"} <= groups
    assert all(group.citations.exists() for group in one.version.fact_groups.exclude(group="edibility")[:3])
    assert AuditLine.objects.filter(object_id=one.version.public_id).values("actor", "act").get() == {
        "actor": "command",
        "act": "write account",
    }


def test_the_second_time_nothing_is_written(tmp_path: Path) -> None:
    load(garlic_files(tmp_path))
    before = rows()
    with CaptureQueriesContext(connection) as queries:
        assert load(tmp_path) == Loaded(new=0, unchanged=4)
    assert rows() == before
    assert not [one["sql"] for one in queries if one["sql"].split()[0] in ("INSERT", "UPDATE", "DELETE")]


def test_only_words_and_order_make_a_new_version_not_the_way_the_file_is_laid_out(tmp_path: Path) -> None:
    load(garlic_files(tmp_path))
    for key in GARLIC:
        file = tmp_path / f"{key}.toml"
        file.write_text(f"# A remark.\n\n{file.read_text(encoding='utf-8')}\n\n", encoding="utf-8")
    assert load(tmp_path) == Loaded(new=0, unchanged=4)


@pytest.mark.parametrize(
    ("old", "new", "parts"),
    [
        ('family = "', 'famly = "', ("famly", "family")),
        ('edibility = "edible_with_care"', 'edibility = "tasty"', ("edibility", "tasty", "edible_with_care")),
        (
            'habitat = ["broadleaved_wood"',
            'habitat = ["broadleaved_wod"',
            ("habitat", "broadleaved_wod", "broadleaved_wood"),
        ),
        ("months = [2, 3", "months = [0, 3", ("months", "0")),
        ('taxon = "colchicum-autumnale"', 'taxon = "colchicum-vernum"', ("lookalike", "colchicum-vernum", "account")),
        ("format = 1", "format = [", ()),
    ],
)
def test_a_spoilt_file_is_refused_with_file_key_and_what_was_expected(
    tmp_path: Path, old: str, new: str, parts: tuple[str, ...]
) -> None:
    spoil(garlic_files(tmp_path), old, new)
    with pytest.raises(FilesRefused) as refused:
        load(tmp_path)
    assert refused.value.happened == "The species accounts were not loaded."
    assert (refused.value.became, refused.value.now) == ("Nothing was written.", "Put these right and load again.")
    assert all(why.startswith("allium-ursinum.toml: ") for why in refused.value.why)
    words = " ".join(refused.value.why)
    assert all(part in words for part in ("expected", *parts)), words
    assert not Taxon.objects.exists()
    assert not VocabularyWord.objects.exists()


def test_all_faults_of_all_files_are_said_at_once(tmp_path: Path) -> None:
    garlic_files(tmp_path)
    for key in GARLIC:
        spoil(tmp_path, "family = ", "famly = ", key)
    with pytest.raises(FilesRefused) as refused:
        load(tmp_path)
    assert {why.split(":")[0] for why in refused.value.why} == {f"{key}.toml" for key in GARLIC}


def test_the_command_says_the_same_and_fails(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    garlic_files(tmp_path)
    call_command("load_curriculum", folder=tmp_path)
    call_command("load_curriculum", folder=tmp_path)
    assert capsys.readouterr().out.splitlines() == [
        "4 accounts loaded, 0 were there already.",
        "0 accounts loaded, 4 were there already.",
    ]
    spoil(tmp_path, "family = ", "famly = ")
    with pytest.raises(CommandError, match=r"^The species accounts were not loaded\.\nallium-ursinum\.toml: "):
        call_command("load_curriculum", folder=tmp_path)


def test_a_changed_file_is_a_new_draft_and_what_is_signed_stays_in_use(world: World, tmp_path: Path) -> None:
    load(garlic_files(tmp_path))
    signature = Signature(SignOff.Kind.REVIEWED, "the cast", date(2027, 3, 1), thin_reason="every leaf is checked")
    first = accounts_in_use()["allium-ursinum"].version
    sign_off_account(first, signature, by=world.rosa, now=world.now)
    spoil(tmp_path, 'summary = "', 'summary = "New: ')
    assert load(tmp_path) == Loaded(new=1, unchanged=3)
    assert list(first.taxon.versions.order_by("number").values_list("number", flat=True)) == [1, 2]
    in_use = accounts_in_use()["allium-ursinum"]
    assert in_use.version == first
    assert not in_use.account.summary.startswith("New:")


def test_a_persons_edit_and_its_names_are_not_overwritten(world: World, tmp_path: Path) -> None:
    load(garlic_files(tmp_path))
    first = accounts_in_use()["allium-ursinum"].version
    values = AccountVersion.objects.values("body", "vocabulary_version", "edibility", "tier", "role").get(pk=first.pk)
    own = AccountVersion.objects.create(
        **values, taxon=first.taxon, number=2, sha256="0" * 64, origin="person", author=world.rosa, created_at=world.now
    )
    spoil(tmp_path, '"Ramsons"', '"Bear leek"')
    assert load(tmp_path) == Loaded(new=1, unchanged=3)
    assert list(first.taxon.versions.order_by("number").values_list("origin", flat=True)) == [
        "starter",
        "person",
        "starter",
    ]
    assert AccountVersion.objects.get(pk=own.pk).body == values["body"]
    assert first.taxon.names.filter(name="Ramsons").exists()
    assert not first.taxon.names.filter(name="Bear leek").exists()
    spoil(tmp_path, '"Bear leek"', '"Bear garlic"')
    assert load(tmp_path) == Loaded(new=1, unchanged=3)
    assert first.taxon.names.filter(name="Ramsons").exists()


def test_a_file_put_back_as_it_was_is_no_new_version(tmp_path: Path) -> None:
    load(garlic_files(tmp_path))
    spoil(tmp_path, 'summary = "', 'summary = "New: ')
    load(tmp_path)
    spoil(tmp_path, 'summary = "New: ', 'summary = "')
    assert load(tmp_path) == Loaded(new=0, unchanged=4)


def test_words_that_accounts_may_have_used_are_never_dropped(tmp_path: Path) -> None:
    load(garlic_files(tmp_path))
    VocabularyWord.objects.create(path="character.gone.word", label="gone", since_version=1)
    with pytest.raises(FilesRefused) as refused:
        load(tmp_path)
    assert refused.value.sentence == (
        "The vocabulary was not loaded. character.gone.word is missing; accounts may have been signed with it. "
        "Nothing was written. Put the words back and mark them deprecated = true."
    )


def test_the_shipped_accounts_load() -> None:
    loaded = load(STARTER)
    assert loaded == Loaded(new=len(list(STARTER.glob("*.toml"))), unchanged=0)
    assert loaded.new >= 30
