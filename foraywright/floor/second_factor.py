"""The second factor of staff accounts: what the login library leaves to us. Its secrets are sealed at rest."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from allauth.mfa.adapter import DefaultMFAAdapter
from allauth.mfa.models import Authenticator
from django.conf import settings
from django.contrib.auth.base_user import AbstractBaseUser
from django.http import HttpRequest
from django.utils import timezone

from foraywright.floor.acts import By, act, record
from foraywright.floor.compute.qr_code import qr_svg
from foraywright.floor.models import Business, User
from foraywright.floor.sealed import Rotation, Sealed, seal, unseal

# The library seals before it has a row, so the value cannot be bound to one as a SealedField is.
CONTEXT = "a second factor"
SEALED = ("secret", "seed")


class SecondFactorAdapter(DefaultMFAAdapter):
    """Seals secrets, draws our own codes, and keeps a factor that is demanded."""

    def encrypt(self, text: str) -> str:
        return seal(text, CONTEXT).token

    def decrypt(self, encrypted_text: str) -> str:
        """Raises NotOpened where no key in SEALING_KEYS opens it."""
        return unseal(Sealed(encrypted_text), CONTEXT)

    def get_totp_issuer(self) -> str:
        business = Business.objects.first()
        return business.name if business else "Foraywright"

    def build_totp_svg(self, url: str) -> str:
        return qr_svg(url)

    def can_delete_authenticator(self, authenticator: Authenticator) -> bool:
        return not settings.SECOND_FACTOR_REQUIRED


def has_second_factor(user: AbstractBaseUser) -> bool:
    """Whether the account signs in with a code as well. One query."""
    return Authenticator.objects.filter(user=user, type=Authenticator.Type.TOTP).exists()


@act
def reset_second_factor(user: User, *, by: By, now: datetime) -> bool:
    """Take the second factor off an account whose owner has lost it, with its recovery codes; whether there was one."""
    removed, _ = Authenticator.objects.filter(user=user).delete()
    if removed:
        record("reset second factor", user, by=by, now=now, fields=("second_factor",))
    return bool(removed)


@act
def _note(user: User, what: str, kind: str, *, now: datetime) -> None:
    record(what, user, by=user, now=now, fields=(kind,))


def note_added(sender: Any, request: HttpRequest, user: User, authenticator: Authenticator, **_: Any) -> None:
    """The audit of what the library did at the owner's wish."""
    _note(user, "add second factor", authenticator.type, now=timezone.now())


def note_removed(sender: Any, request: HttpRequest, user: User, authenticator: Authenticator, **_: Any) -> None:
    _note(user, "remove second factor", authenticator.type, now=timezone.now())


def reseal_second_factors(done: Rotation) -> None:
    """Put the secrets under the newest key, and note in `done` what came of it. Runs inside a transaction."""
    for one in Authenticator.objects.select_for_update().order_by("pk"):
        held = {key: Sealed(one.data[key]) for key in SEALED if key in one.data}
        fresh = {key: new.token for key, value in held.items() if (new := done.reseal(value, f"{CONTEXT} ({one.pk})"))}
        if fresh:
            one.data |= fresh
            one.save(update_fields=["data"])
