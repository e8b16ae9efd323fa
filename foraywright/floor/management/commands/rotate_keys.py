"""`manage.py rotate_keys`: put every sealed value under the newest key, after which older keys can be removed."""

from __future__ import annotations

from typing import Any

from django.apps import apps
from django.core.management.base import BaseCommand, CommandError
from django.db import models, transaction

from foraywright.floor.sealed import Rotation, Sealed, SealedField, sealed_fields
from foraywright.floor.second_factor import reseal_second_factors

ROWS_AT_A_TIME = 200
NAMED = 20
"""Values that are named where some do not open: with a wrong key it is all of them."""


class Command(BaseCommand):
    """Works in batches, each in its own transaction: stopped half-way, it goes on where it was.

    A value that opens with no key keeps none of the others under a key that is to go.
    """

    help = "Re-encrypts all sealed values under the first key of SEALING_KEYS. Run it before you remove an older key."

    def handle(self, *args: Any, **options: Any) -> None:
        done = Rotation()
        for model in apps.get_models():
            if sealed_fields(model):
                _rotate(model, done)
        with transaction.atomic():
            reseal_second_factors(done)
        self.stdout.write(f"{done.resealed} values re-encrypted.")
        if done.shut:
            raise CommandError(_in_words(done.shut))
        self.stdout.write(
            "All stand under the first key now. Where web server or worker were not restarted since that key came "
            "first, restart them and run this again. Then remove the other keys and restart. Keep those apart for as "
            "long as you keep a backup from before today: what is in it opens with them alone."
        )


def _in_words(shut: list[str]) -> str:
    named = ", ".join(shut[:NAMED]) + (f" and {len(shut) - NAMED} more" if len(shut) > NAMED else "")
    return (
        f"Keep every key: {len(shut)} opened with none of them and stand as they were: {named}. "
        "Put the key that sealed them back at the end of SEALING_KEYS and run this again; a value that was cut off or "
        "swapped comes back from a backup alone."
    )


def _rotate(model: type[models.Model], done: Rotation) -> None:
    """Re-seal all rows of `model`, and note in `done` what came of it."""
    last = 0
    rows = model._default_manager.order_by("pk")
    while batch := list(rows.filter(pk__gt=last).values_list("pk", flat=True)[:ROWS_AT_A_TIME]):
        _rotate_rows(model, batch, done)
        last = batch[-1]


@transaction.atomic
def _rotate_rows(model: type[models.Model], keys: list[int], done: Rotation) -> None:
    """Re-seal some rows, locked: an answer given anew in the same moment would otherwise be put back."""
    for one in model._default_manager.select_for_update().filter(pk__in=keys):
        _rotate_row(model, one, sealed_fields(model), done)


def _rotate_row(model: type[models.Model], row: models.Model, fields: list[SealedField], done: Rotation) -> None:
    held = {one: row.__dict__.get(one.attname) for one in fields}
    fresh = {
        one.attname: new
        for one, value in held.items()
        if isinstance(value, Sealed) and (new := done.reseal(value, one.context_of(row)))
    }
    if fresh:
        model._default_manager.filter(pk=row.pk).update(**fresh)
