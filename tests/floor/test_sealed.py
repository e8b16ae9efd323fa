"""What is sealed opens for its own row only, under the old keys and the new, and shows itself nowhere."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from cryptography.fernet import Fernet
from django.core import serializers
from django.core.exceptions import FieldError
from django.core.management import CommandError, call_command
from django.db import connection, models
from django.forms import modelform_factory
from django.test.utils import isolate_apps
from pytest_django.fixtures import Settings

from bookings.services.access_needs import ask_for_access
from bookings.services.book_places import book_places
from foraywright.floor.ids import new_public_id
from foraywright.floor.management.commands.rotate_keys import _rotate
from foraywright.floor.sealed import NotOpened, Rotation, SealedField, seal, sealed_fields, unseal
from tests.cast import World

pytestmark = pytest.mark.database
CANARY = "hazelnuts, and the pen is in the rucksack"


@pytest.fixture
def answers(transactional_db: None) -> Iterator[type[models.Model]]:
    """A table with one sealed column, there for the length of a test."""
    with isolate_apps("foraywright.floor"):

        class Answer(models.Model):
            public_id = models.CharField(max_length=20, default=new_public_id)
            text = SealedField(null=True)
            label = models.CharField(max_length=20, blank=True)

            class Meta:
                app_label = "floor"

        with connection.schema_editor() as editor:
            editor.create_model(Answer)
        yield Answer
        with connection.schema_editor() as editor:
            editor.delete_model(Answer)


def column(answers: type[models.Model]) -> list[str]:
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT text FROM {answers._meta.db_table} ORDER BY id")
        return [row[0] for row in cursor.fetchall()]


def test_it_comes_back_and_the_column_holds_none_of_it(answers: Any) -> None:
    answers.objects.create(text=CANARY)
    assert "hazel" not in column(answers)[0]
    assert answers.objects.get().text == CANARY


@pytest.mark.parametrize("text", ["", "é ∅ 🍄", "a\x00b", "x" * 20_000])
def test_any_text_comes_back_whole(answers: Any, text: str) -> None:
    answers.objects.bulk_create([answers(text=text)])
    assert answers.objects.get().text == text


def test_nothing_is_not_sealed(answers: Any) -> None:
    answers.objects.create(text=None)
    assert column(answers) == [None]
    assert answers.objects.filter(text__isnull=True).get().text is None


def test_saving_a_row_again_keeps_the_token_that_nobody_touched(answers: Any) -> None:
    answers.objects.create(text=CANARY)
    before = column(answers)
    one = answers.objects.get()
    one.label = "new"
    one.save()
    assert column(answers) == before


def test_a_token_copied_into_another_row_does_not_open(answers: Any) -> None:
    answers.objects.create(text=CANARY)
    other = answers.objects.create(text="nothing")
    with connection.cursor() as cursor:
        cursor.execute(f"UPDATE {answers._meta.db_table} SET text = %s WHERE id = %s", [column(answers)[0], other.pk])
    with pytest.raises(NotOpened, match="sealed for another row") as refused:
        _ = answers.objects.get(pk=other.pk).text
    assert "gAAAA" not in str(refused.value)


def test_a_token_that_was_tampered_with_does_not_open(answers: Any) -> None:
    one = answers.objects.create(text=CANARY)
    token = column(answers)[0]
    with connection.cursor() as cursor:
        cursor.execute(f"UPDATE {answers._meta.db_table} SET text = %s", [token[:-6] + "AAAA=="])
    with pytest.raises(NotOpened) as refused:
        _ = answers.objects.get(pk=one.pk).text
    assert token[:8] not in str(refused.value)


def test_a_list_of_rows_opens_nothing_until_it_is_read(answers: Any, settings: Settings) -> None:
    answers.objects.create(text=CANARY, label="seen")
    settings.SEALING_KEYS = [Fernet.generate_key().decode()]
    (one,) = answers.objects.all()
    assert one.label == "seen"
    with pytest.raises(NotOpened, match="none of the keys"):
        _ = one.text


def test_neither_values_nor_forms_nor_dumps_see_into_it(answers: Any) -> None:
    one = answers.objects.create(text=CANARY)
    seen = f"{list(answers.objects.values())} {answers.objects.values_list('text', flat=True)[0]}"
    seen += str(modelform_factory(answers, fields=["text"])(instance=answers.objects.get()))
    seen += serializers.serialize("json", [one])
    assert "hazel" not in seen
    assert "gAAAA" not in seen


def test_it_is_written_through_an_instance_only(answers: Any) -> None:
    answers.objects.create(text=CANARY)
    with pytest.raises(FieldError, match="set it on an instance"):
        answers.objects.update(text="in the clear")
    with pytest.raises(FieldError, match="nothing can be looked up"):
        answers.objects.filter(text=CANARY).exists()
    assert answers.objects.get().text == CANARY


def test_rotating_puts_all_under_the_new_key_and_a_second_run_changes_nothing(answers: Any, settings: Settings) -> None:
    answers.objects.bulk_create([answers(text=f"{CANARY} {number}") for number in range(205)])
    fresh = Fernet.generate_key().decode()
    settings.SEALING_KEYS = [fresh, *settings.SEALING_KEYS]
    done = Rotation()
    _rotate(answers, done)
    _rotate(answers, done)
    assert (done.resealed, done.shut) == (205, [])
    settings.SEALING_KEYS = [fresh]
    assert {one.text for one in answers.objects.all()} == {f"{CANARY} {number}" for number in range(205)}


def test_rotating_goes_on_past_a_value_that_does_not_open_and_names_it(world: World, settings: Settings) -> None:
    booking = book_places(world.order("adult"), by="participant", now=world.now)
    broken, good = (ask_for_access(booking, CANARY, by="participant", now=world.now) for _ in range(2))
    with connection.cursor() as cursor:
        cursor.execute("UPDATE bookings_accessneed SET need = %s WHERE id = %s", ["gAAAA-cut-off", broken.pk])
    settings.SEALING_KEYS = [Fernet.generate_key().decode(), *settings.SEALING_KEYS]
    with pytest.raises(CommandError, match=f"Keep every key.*bookings.accessneed.need:{broken.public_id}") as refused:
        call_command("rotate_keys", verbosity=0)
    assert "gAAAA" not in str(refused.value)
    settings.SEALING_KEYS = settings.SEALING_KEYS[:1]
    good.refresh_from_db()
    assert good.need == CANARY


def test_a_deferred_value_is_fetched_and_opened(answers: Any) -> None:
    answers.objects.create(text=CANARY)
    assert answers.objects.defer("text").get().text == CANARY
    assert answers.objects.only("label").get().text == CANARY


def test_the_same_text_never_gives_the_same_token() -> None:
    assert seal(CANARY, "a").token != seal(CANARY, "a").token
    assert unseal(seal(CANARY, "a"), "a") == CANARY


def test_a_model_tells_which_of_its_fields_are_sealed(answers: Any) -> None:
    assert [field.name for field in sealed_fields(answers)] == ["text"]
