"""Making and following links that are a permission."""

from __future__ import annotations

from datetime import datetime

from django.core.signing import BadSignature, Signer

from foraywright.floor.ids import digest, new_secret
from foraywright.floor.models import LinkSecret


def _signer(purpose: str) -> Signer:
    """One salt a purpose: a link minted for one thing never opens another, and a forged one costs no query."""
    return Signer(salt=f"foraywright.link.{purpose}", sep="~")


def make_link(purpose: str, scope: str, *, expires_at: datetime, now: datetime) -> str:
    """Store a new secret for (`purpose`, `scope`) and return the signed token that goes into the address."""
    secret = new_secret()
    LinkSecret.objects.create(
        purpose=purpose, scope=scope, digest=digest(secret), created_at=now, expires_at=expires_at
    )
    return _signer(purpose).sign(secret)


def follow_link(purpose: str, token: str, *, now: datetime) -> tuple[str, str] | None:
    """Return (state, scope): state is "live", "expired" or "revoked"; None for a token we never made. One query."""
    try:
        secret = _signer(purpose).unsign(token)
    except BadSignature:
        return None
    link = LinkSecret.objects.filter(purpose=purpose, digest=digest(secret)).first()
    if link is None:
        return None
    if link.revoked_at is not None:
        return "revoked", link.scope
    return ("expired" if link.expires_at <= now else "live"), link.scope
