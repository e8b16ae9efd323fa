"""Random identifiers: public ids for addresses and audit, secrets for links."""

import base64
import hashlib
import secrets


def new_public_id() -> str:
    """Return 16 lower-case characters (80 random bits). It names an object; it is no permission to see it."""
    return base64.b32encode(secrets.token_bytes(10)).decode("ascii").lower()


def new_secret() -> str:
    """Return a link secret of 192 random bits, safe in an address."""
    return secrets.token_urlsafe(24)


def digest(secret: str) -> str:
    """Return the SHA-256 under which a secret is stored; the secret itself is never kept."""
    return hashlib.sha256(secret.encode("utf-8")).hexdigest()
