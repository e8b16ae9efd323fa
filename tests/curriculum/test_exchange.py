"""Taking the accounts away and bringing them back: commands and the reviewer's links."""

from __future__ import annotations

import re
from io import BytesIO, StringIO
from pathlib import Path
from zipfile import ZipFile

import pytest
from django.core.management import CommandError, call_command
from django.test import Client

from curriculum.compute.exchange.exports import FORMS, exported
from curriculum.models import AccountVersion, Taxon
from curriculum.queries import accounts_in_use, vocabulary
from curriculum.services.load_starter import load_starter
from tests.cast import World
from tests.curriculum.garlic import GARLIC, garlic_files
from tests.pages import signed_in


@pytest.fixture
def garlic(world: World, tmp_path: Path) -> Path:
    folder = tmp_path / "garlic"
    folder.mkdir()
    load_starter(garlic_files(folder), by="command", now=world.now)
    return folder


def run(command: str, *words: object) -> str:
    out = StringIO()
    call_command(command, *map(str, words), stdout=out)
    return out.getvalue()


def export(form: str, folder: Path) -> Path:
    run("export_curriculum", "--format", form, "--out", folder)
    return folder


def in_use() -> list:
    return [one.account for one in accounts_in_use().values()]


@pytest.mark.parametrize("form", FORMS)
def test_the_folder_holds_what_the_accounts_in_use_say(garlic: Path, tmp_path: Path, form: str) -> None:
    folder = export(form, tmp_path / "out")

    files = {str(one.relative_to(folder)): one.read_bytes() for one in folder.rglob("*") if one.is_file()}
    assert files == {path: text.encode() for path, text in exported(form, in_use(), vocabulary()).items()}
    assert any("allium-ursinum" in text.decode() for text in files.values())


def test_a_folder_with_something_in_it_is_left_alone(garlic: Path) -> None:
    before = sorted(garlic.iterdir())
    with pytest.raises(CommandError, match=r"is not an empty folder\. Name one that is\.$"):
        export("toml", garlic)
    assert sorted(garlic.iterdir()) == before


def test_whole_accounts_come_back_as_the_same_content(garlic: Path, tmp_path: Path, world: World) -> None:
    folder = export("toml", tmp_path / "out")
    said = run("import_curriculum", folder, "--by", "rosa")

    assert said == f"Drafts written: 0. Already there: {len(GARLIC)}.\n"
    assert AccountVersion.objects.count() == len(GARLIC)


def test_a_changed_account_becomes_a_draft_of_whoever_brings_it(garlic: Path, world: World) -> None:
    file = garlic / "allium-ursinum.toml"
    text = file.read_text(encoding="utf-8")
    file.write_text(text.replace('summary = "', 'summary = "Brought back. ', 1), encoding="utf-8")

    said = run("import_curriculum", file, "--by", "rosa")

    newest = AccountVersion.objects.get(taxon__key="allium-ursinum", number=2)
    assert said.splitlines() == ["Drafts written: 1. Already there: 0.", "  allium-ursinum"]
    assert (newest.author, newest.origin) == (world.rosa, "person")
    assert not hasattr(newest, "sign_off")


def test_one_bad_file_and_nothing_is_taken(garlic: Path, world: World) -> None:
    for file in garlic.iterdir():
        text = file.read_text(encoding="utf-8").replace('summary = "', 'summary = "Brought back. ', 1)
        file.write_text(text, encoding="utf-8")
    (garlic / "arum-maculatum.toml").write_text('format = 1\ntaxon = "arum-maculatum"\n', encoding="utf-8")

    with pytest.raises(CommandError, match=r"(?s)^No account was taken\..*arum-maculatum\.toml.*Nothing was written\."):
        run("import_curriculum", garlic, "--by", "rosa")
    assert AccountVersion.objects.count() == len(GARLIC)


def test_a_lookalike_without_an_account_is_refused(garlic: Path, world: World) -> None:
    file = garlic / "allium-ursinum.toml"
    text = file.read_text(encoding="utf-8").replace('taxon = "arum-maculatum"', 'taxon = "arum-nowhere"', 1)
    file.write_text(text, encoding="utf-8")

    with pytest.raises(CommandError, match="arum-nowhere"):
        run("import_curriculum", file, "--by", "rosa")
    assert not Taxon.objects.filter(key="arum-nowhere").exists()


@pytest.mark.parametrize("words", [["--by", "nobody"], []])
def test_nobody_in_particular_brings_nothing(garlic: Path, words: list[str]) -> None:
    sentence = "^Nothing was taken: name with --by the login of whoever brings the accounts.$"
    with pytest.raises(CommandError, match=sentence):
        run("import_curriculum", garlic, *words)


def test_what_is_no_account_file_is_refused(garlic: Path, tmp_path: Path) -> None:
    with pytest.raises(CommandError, match=r"is no \.toml file, nor a folder of them or of DELTA files"):
        run("import_curriculum", tmp_path / "nothing.xlsx", "--by", "rosa")


def test_an_equal_data_set_differs_in_nothing(garlic: Path, tmp_path: Path) -> None:
    said = run("import_curriculum", export("delta", tmp_path / "out") / "plant")
    compared = int(said.split()[0])

    assert compared >= len(GARLIC) * len(vocabulary().characters_of("plant"))
    assert said == f"{compared} values compared, 0 differ. Nothing was written.\n"


def test_a_data_set_is_compared_and_nothing_of_it_is_taken(garlic: Path, tmp_path: Path) -> None:
    folder = export("delta", tmp_path / "out") / "plant"
    number = list(vocabulary().characters_of("plant")).index("leaf_veins") + 1
    before, head, after = folder.joinpath("items").read_text().partition("<key allium-ursinum all>")
    folder.joinpath("items").write_text(
        before + head + re.sub(rf"\s{number},\S+", f" {number},1/2<seen>", after, count=1)
    )
    versions = AccountVersion.objects.count()

    said = run("import_curriculum", folder).splitlines()

    label = vocabulary().characters["leaf_veins"].label
    assert said[0].endswith(" values compared, 1 differ. Nothing was written.")
    assert said[1].startswith(f"  allium-ursinum, all, {label}: here ")
    assert AccountVersion.objects.count() == versions


def test_a_damaged_data_set_is_refused(garlic: Path, tmp_path: Path) -> None:
    folder = export("delta", tmp_path / "out") / "plant"
    folder.joinpath("specs").write_text("*IMPLICIT VALUES 1,2")
    with pytest.raises(CommandError, match=r"^Nothing was compared: The directive \*IMPLICIT VALUES 1,2 is not read"):
        run("import_curriculum", folder)


@pytest.mark.parametrize("form", FORMS)
def test_the_reviewer_takes_them_away_as_a_zip(garlic: Path, world: World, form: str) -> None:
    rosa = signed_in(world.rosa)
    address = f"/staff/curriculum/export/{form}.zip"
    answer = rosa.get(address)
    archive = ZipFile(BytesIO(answer.content))

    assert answer["Content-Disposition"] == f'attachment; filename="curriculum-{form}.zip"'
    read = {name: archive.read(name).decode() for name in archive.namelist()}
    assert read == exported(form, in_use(), vocabulary())
    assert rosa.get(address).content == answer.content
    assert address in rosa.get("/staff/curriculum/audit/").content.decode()


def test_others_take_nothing_away(garlic: Path, world: World) -> None:
    address = "/staff/curriculum/export/toml.zip"
    assert signed_in(world.gwen.user).get(address).status_code == 403
    assert Client().get(address).status_code == 302
    assert signed_in(world.rosa).post(address).status_code == 405
    assert signed_in(world.rosa).get("/staff/curriculum/export/pdf.zip").status_code == 404
