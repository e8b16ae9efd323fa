"""The reviewer's pages: what waits for a signature, and the signature itself."""

from __future__ import annotations

from pathlib import Path

import pytest
from bs4 import BeautifulSoup
from django.test import Client

from curriculum.models import AccountVersion, SignOff
from curriculum.services.load_starter import load_starter
from tests.cast import World
from tests.conftest import NOW
from tests.curriculum.garlic import garlic_files
from tests.pages import signed_in, words_of

pytestmark = pytest.mark.usefixtures("september")

LIST, ACCOUNT = "/staff/curriculum/", "/staff/curriculum/allium-ursinum/"
TYPED = {"competence": "20 years of spring woods", "review_by": "2027-03-01", "thin_reason": "Every leaf is checked."}


@pytest.fixture
def folder(world: World, tmp_path: Path) -> Path:
    load_starter(garlic_files(tmp_path), by="command", now=world.now)
    return tmp_path


def page(client: Client, address: str = ACCOUNT) -> BeautifulSoup:
    return BeautifulSoup(client.get(address).content, "html.parser")


def seen(client: Client) -> str:
    return str(page(client).find("input", {"name": "version"})["value"])


def change(folder: Path, words: str) -> None:
    """Put another summary in the file and load it: a new draft."""
    file = folder / "allium-ursinum.toml"
    lines = file.read_text(encoding="utf-8").splitlines()
    new = [f'summary = "{words}"' if line.startswith("summary = ") else line for line in lines]
    file.write_text("\n".join(new), encoding="utf-8")
    load_starter(folder, by="command", now=NOW)


def test_a_reviewer_signs(world: World, folder: Path) -> None:
    rosa = signed_in(world.rosa)
    answer = rosa.post(ACCOUNT, TYPED | {"version": seen(rosa)}, follow=True)
    assert answer.redirect_chain == [(ACCOUNT, 302)]
    text = words_of(answer.content)
    assert "Signed." in text
    assert "1 · 14 Sep 2026 · starter · Reviewed and signed, Rosa, 14 Sep 2026" in text
    assert SignOff.objects.get().kind == SignOff.Kind.REVIEWED


def test_a_second_press_signs_nothing_and_says_so(world: World, folder: Path) -> None:
    rosa = signed_in(world.rosa)
    sent = TYPED | {"version": seen(rosa)}
    rosa.post(ACCOUNT, sent)
    answer = rosa.post(ACCOUNT, sent)
    assert answer.status_code == 422
    assert SignOff.objects.count() == 1


def test_a_newer_version_than_the_one_read_is_shown_and_not_signed(world: World, folder: Path) -> None:
    rosa = signed_in(world.rosa)
    read = seen(rosa)
    change(folder, "Other words.")
    answer = rosa.post(ACCOUNT, TYPED | {"version": read})
    assert answer.status_code == 422
    assert not SignOff.objects.exists()
    text = words_of(BeautifulSoup(answer.content, "html.parser").encode())
    assert "a newer version is shown now. Nothing was signed. Read it, then sign it." in text
    assert "Other words." in text
    again = BeautifulSoup(answer.content, "html.parser")
    assert again.find("input", {"name": "competence"})["value"] == TYPED["competence"]
    newest = again.find("input", {"name": "version"})["value"]
    assert rosa.post(ACCOUNT, TYPED | {"version": newest}).status_code == 302
    assert SignOff.objects.get().version.number == 2


def test_a_draft_newer_than_the_signed_version_waits_for_its_signature(world: World, folder: Path) -> None:
    rosa = signed_in(world.rosa)
    rosa.post(ACCOUNT, TYPED | {"version": seen(rosa)})
    assert not rows_that_wait(rosa) & {"Wild Garlic"}
    change(folder, "Other words.")
    assert rows_that_wait(rosa) >= {"Wild Garlic"}
    assert "Other words." in words_of(rosa.get(ACCOUNT).content)
    assert rosa.post(ACCOUNT, TYPED | {"version": seen(rosa)}).status_code == 302
    assert SignOff.objects.count() == AccountVersion.objects.filter(taxon__key="allium-ursinum").count() == 2


def rows_that_wait(client: Client) -> set[str]:
    """The accounts that the list marks as waiting for a person."""
    return {row.find("a").get_text() for row in page(client, LIST).select("tr.needs-person")}


def test_what_was_typed_is_not_lost(world: World, folder: Path) -> None:
    rosa = signed_in(world.rosa)
    wrong = TYPED | {"version": seen(rosa), "review_by": "2028-03-01"}
    answer = rosa.post(ACCOUNT, wrong)
    assert answer.status_code == 422
    assert "Choose a day within a year: names and verdicts move." in words_of(answer.content)
    assert TYPED["competence"] in answer.content.decode()
    answer = rosa.post(ACCOUNT, TYPED | {"version": seen(rosa), "review_by": "2026-09-01"})
    assert "The day by which it must be reviewed again lies in the past." in words_of(answer.content)
    assert not SignOff.objects.exists()


def test_the_office_reads_but_never_signs(world: World, folder: Path) -> None:
    olive = signed_in(world.olive)
    assert olive.get(ACCOUNT).status_code == 200
    assert page(olive).find("input", {"name": "version"}) is None
    version = AccountVersion.objects.get(taxon__key="allium-ursinum").public_id
    assert olive.post(ACCOUNT, TYPED | {"version": version}).status_code == 403
    assert not SignOff.objects.exists()


def test_nobody_else_comes_in(world: World, folder: Path) -> None:
    for address in (LIST, ACCOUNT):
        assert signed_in(world.gwen.user).get(address).status_code == 403
        answer = Client().get(address)
        assert (answer.status_code, answer["Location"]) == (302, f"/accounts/login/?next={address}")
    assert Client().post(ACCOUNT, TYPED).status_code == 302
    assert not SignOff.objects.exists()


def test_wrong_methods_and_unknown_accounts(world: World, folder: Path) -> None:
    rosa = signed_in(world.rosa)
    assert rosa.post(LIST).status_code == 405
    assert rosa.delete(ACCOUNT).status_code == 405
    assert rosa.get("/staff/curriculum/no-such-thing/").status_code == 404


def test_in_the_demonstration_the_signature_says_that_nobody_checked(world: World, folder: Path) -> None:
    from foraywright.floor.models import Business

    Business.objects.update(is_demonstration=True)
    rosa = signed_in(world.rosa)
    rosa.post(ACCOUNT, TYPED | {"version": seen(rosa)})
    assert SignOff.objects.get().kind == SignOff.Kind.DEMONSTRATION
    assert "checked by nobody" in words_of(rosa.get(ACCOUNT).content)
