"""Text that is encrypted at rest: health answers, emergency contacts, names in an incident.

A sealed value is a Fernet token (AES-128-CBC and HMAC-SHA256) over the value's context and the value. The context is
model, field and the row's public id: a token that somebody copies into another row or column fails to open. Keys stand
in `SEALING_KEYS`, newest first; the first one seals, all of them open.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any

from cryptography.fernet import Fernet, InvalidToken, MultiFernet
from django.conf import settings
from django.core.exceptions import FieldError, ImproperlyConfigured
from django.db import models
from django.db.models.query_utils import DeferredAttribute

SEPARATOR = "\x00"


class NotOpened(Exception):
    """A sealed value could not be opened with any key, or was sealed for another row. Never holds the token."""


@dataclass(frozen=True, slots=True, repr=False)
class Sealed:
    """A token as the database holds it. Shows nothing of itself, so that a page can never print it."""

    token: str

    def __str__(self) -> str:
        return "(sealed)"

    __repr__ = __str__


@lru_cache(maxsize=4)
def _ring(keys: tuple[str, ...]) -> MultiFernet:
    try:
        return MultiFernet([Fernet(key) for key in keys])
    except ValueError as error:
        raise ImproperlyConfigured(
            "SEALING_KEYS holds no key or one that is malformed. Each is 32 bytes in URL-safe base64; newest first."
        ) from error


def ring() -> MultiFernet:
    """The keys in force, newest first."""
    return _ring(tuple(settings.SEALING_KEYS))


def seal(text: str, context: str) -> Sealed:
    """Encrypt `text` for `context` under the newest key."""
    return Sealed(ring().encrypt(f"{context}{SEPARATOR}{text}".encode()).decode("ascii"))


def unseal(sealed: Sealed, context: str) -> str:
    """Return the text that was sealed for `context`. Raises NotOpened."""
    try:
        found, _, text = ring().decrypt(sealed.token).decode().partition(SEPARATOR)
    except (InvalidToken, ValueError) as error:
        raise NotOpened(f"The value of {context} opens with none of the keys in SEALING_KEYS.") from error
    if found != context:
        raise NotOpened(f"The value of {context} was sealed for another row.")
    return text


def reseal(sealed: Sealed) -> Sealed | None:
    """Return the value under the newest key; None if it is so already. Raises NotOpened."""
    try:
        Fernet(settings.SEALING_KEYS[0]).decrypt(sealed.token)
    except InvalidToken:
        try:
            return Sealed(ring().rotate(sealed.token).decode("ascii"))
        except InvalidToken as error:
            raise NotOpened("A value opens with none of the keys in SEALING_KEYS.") from error
    return None


@dataclass(slots=True)
class Rotation:
    """What putting values under the newest key came to: how many changed, and which opened with no key at all."""

    resealed: int = 0
    shut: list[str] = field(default_factory=list)

    def reseal(self, sealed: Sealed, name: str) -> Sealed | None:
        """The value under the newest key; None where it stays as it is, because it is so already or does not open."""
        try:
            fresh = reseal(sealed)
        except NotOpened:
            self.shut.append(name)
            return None
        self.resealed += fresh is not None
        return fresh


class _Opened(DeferredAttribute):
    """Opens the value when it is read, not when its row is loaded: a list of rows costs no decryption."""

    def __get__(self, instance: Any, cls: Any = None) -> Any:
        value = super().__get__(instance, cls)
        if isinstance(value, Sealed):
            return unseal(value, self.field.context_of(instance))  # type: ignore[attr-defined]
        return value

    def __set__(self, instance: models.Model, value: Any) -> None:
        # Without a setter Python would find the token in the instance's dict and never ask here.
        instance.__dict__[self.field.attname] = value


class SealedField(models.TextField):
    """A text field whose column holds a token. Its model needs a `public_id`. Write it by saving an instance.

    It cannot be searched, ordered by or written with `update()`; forms and dumps do not see into it.
    """

    descriptor_class = _Opened

    def context_of(self, instance: models.Model) -> str:
        """Model, field and row that a value belongs to."""
        return f"{self.model._meta.label_lower}.{self.name}:{instance.public_id}"  # type: ignore[attr-defined]

    def from_db_value(self, value: str | None, *_: Any) -> Sealed | None:
        return None if value is None else Sealed(value)

    def pre_save(self, model_instance: models.Model, add: bool) -> Sealed | None:
        value = model_instance.__dict__.get(self.attname)
        return seal(value, self.context_of(model_instance)) if isinstance(value, str) else value

    def get_prep_value(self, value: Any) -> str | None:
        if value is None or isinstance(value, Sealed):
            return value.token if value else None
        raise FieldError(f"{self.name} is sealed: set it on an instance and save that.")

    def get_lookup(self, lookup_name: str) -> Any:
        if lookup_name != "isnull":
            raise FieldError(f"{self.name} is sealed: nothing can be looked up by it.")
        return super().get_lookup(lookup_name)

    def value_from_object(self, obj: models.Model) -> Any:
        return str(Sealed(""))

    def value_to_string(self, obj: models.Model) -> str:
        return str(self.value_from_object(obj))


def sealed_fields(model: type[models.Model]) -> list[SealedField]:
    """The sealed fields of `model`."""
    return [one for one in model._meta.get_fields() if isinstance(one, SealedField)]
