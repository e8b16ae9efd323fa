"""`manage.py rotate_keys`: put every sealed value under the newest key, after which older keys can be removed."""

from __future__ import annotations

from typing import Any

from django.apps import apps
from django.core.management.base import BaseCommand
from django.db import models, transaction

from foraywright.floor.sealed import Sealed, SealedField, reseal, sealed_fields
from foraywright.floor.second_factor import reseal_second_factors

ROWS_AT_A_TIME = 200


class Command(BaseCommand):
    """Works in batches, each in its own transaction: stopped half-way, it goes on where it was."""

    help = "Re-encrypts all sealed values under the first key of SEALING_KEYS. Run it before you remove an older key."

    def handle(self, *args: Any, **options: Any) -> None:
        changed = sum(_rotate(model) for model in apps.get_models() if sealed_fields(model))
        with transaction.atomic():
            changed += reseal_second_factors()
        self.stdout.write(
            f"{changed} values re-encrypted. All stand under the first key now: remove the others and restart."
        )


def _rotate(model: type[models.Model]) -> int:
    """Re-seal all rows of `model` and return how many values changed."""
    changed, last = 0, 0
    rows = model._default_manager.order_by("pk")
    while batch := list(rows.filter(pk__gt=last).values_list("pk", flat=True)[:ROWS_AT_A_TIME]):
        changed += _rotate_rows(model, batch)
        last = batch[-1]
    return changed


@transaction.atomic
def _rotate_rows(model: type[models.Model], keys: list[int]) -> int:
    """Re-seal some rows, locked: an answer given anew in the same moment would otherwise be put back."""
    locked = model._default_manager.select_for_update().filter(pk__in=keys)
    return sum(_rotate_row(model, one, sealed_fields(model)) for one in locked)


def _rotate_row(model: type[models.Model], row: models.Model, fields: list[SealedField]) -> int:
    held = {field.attname: row.__dict__.get(field.attname) for field in fields}
    fresh = {name: new for name, one in held.items() if isinstance(one, Sealed) and (new := reseal(one))}
    if fresh:
        model._default_manager.filter(pk=row.pk).update(**fresh)
    return len(fresh)
