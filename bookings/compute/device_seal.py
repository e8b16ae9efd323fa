"""What somebody types on a device without signal, sealed so that only we can open it.

The device makes a random key, seals the text with AES-GCM (NIST SP 800-38D) bound to the mark's own id, and wraps the
key with RSA-OAEP (RFC 8017, section 7.1) under the public key that came with its copy of the register.
"""

from __future__ import annotations

from base64 import b64decode, b64encode
from collections.abc import Mapping

from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.asymmetric import padding, rsa
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.serialization import (
    Encoding,
    NoEncryption,
    PrivateFormat,
    PublicFormat,
    load_pem_private_key,
)

BITS = 2048


def new_private_key() -> str:
    """A fresh key as PEM text, for one copy on one device."""
    made = rsa.generate_private_key(public_exponent=65537, key_size=BITS)
    return made.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption()).decode("ascii")


def public_half(private_key: str) -> str:
    """The public half of a key, as browsers read it: SubjectPublicKeyInfo in base64."""
    public = _loaded(private_key).public_key()
    return b64encode(public.public_bytes(Encoding.DER, PublicFormat.SubjectPublicKeyInfo)).decode("ascii")


def opened(private_key: str, sealed: Mapping[str, str], *, event: str) -> str:
    """The text of `sealed` ("key", "iv", "body" in base64), which was sealed as `event`. ValueError where it is not."""
    try:
        key, iv, body = (b64decode(sealed[part], validate=True) for part in ("key", "iv", "body"))
        way = padding.OAEP(mgf=padding.MGF1(algorithm=SHA256()), algorithm=SHA256(), label=None)
        return AESGCM(_loaded(private_key).decrypt(key, way)).decrypt(iv, body, event.encode("ascii")).decode("utf-8")
    except (InvalidTag, KeyError, TypeError, ValueError) as fault:
        raise ValueError("This was not sealed for us, or was changed on the way.") from fault


def _loaded(private_key: str) -> rsa.RSAPrivateKey:
    found = load_pem_private_key(private_key.encode("ascii"), password=None)
    if not isinstance(found, rsa.RSAPrivateKey):
        raise ValueError("Keys of register copies are RSA keys.")
    return found
