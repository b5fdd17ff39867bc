"""The bay's own key: Ed25519 (RFC 8032), made on first use, for sealing jobs.

Whoever can read the file can seal in the bay's name, so only its owner may. The key proves which bay sealed a job and
that nothing was changed since; who stood in front of the screen it cannot prove.
"""

from __future__ import annotations

import contextlib
import os
from pathlib import Path
from typing import Final

import platformdirs
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives import serialization
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey

from bayvoice.edges.sounds import sync_folder
from bayvoice.errors import BayError

_OTHERS: Final = 0o077


def key_path() -> Path:
    """Where this bay's key lies: in the user's data directory."""
    return platformdirs.user_data_path("bayvoice") / "bay.key"


class BayKey:
    """A key that signs. `public`: hex of the 32 bytes others check by."""

    def __init__(self, key: Ed25519PrivateKey) -> None:
        self._key = key
        raw = key.public_key().public_bytes(serialization.Encoding.Raw, serialization.PublicFormat.Raw)
        self.public = raw.hex()

    def sign(self, message: bytes) -> str:
        """The signature, hex of 64 bytes."""
        return self._key.sign(message).hex()


def holds(public: str, message: bytes, signature: str) -> bool:
    """Whether `signature` (hex) was made over `message` by the key whose public half is `public` (hex)."""
    try:
        Ed25519PublicKey.from_public_bytes(bytes.fromhex(public)).verify(bytes.fromhex(signature), message)
    except (InvalidSignature, ValueError):
        return False
    return True


def load_key(path: Path | None = None) -> BayKey:
    """This bay's key, made where there is none yet.

    Raises:
        BayError: the file cannot be read or made, is not such a key, or others than its owner may read it.
    """
    path = path or key_path()
    try:
        if not path.exists():
            _make(path)
        if path.stat().st_mode & _OTHERS:
            raise BayError("others may read the bay's key", str(path), "take it from them: chmod 600")
        key = serialization.load_pem_private_key(path.read_bytes(), password=None)
    except (OSError, ValueError, TypeError) as error:
        why = getattr(error, "strerror", None) or "it is not a key"
        raise BayError(f"the bay's key cannot be used ({why})", str(path), "look at the file and its rights") from error
    if not isinstance(key, Ed25519PrivateKey):
        raise BayError("the bay's key is of another kind", str(path), "move it away; a new one is made on the next use")
    return BayKey(key)


def known_key(path: Path | None = None) -> str:
    """The public half of this bay's key; "" where none was made yet or it cannot be used. Makes nothing."""
    path = path or key_path()
    with contextlib.suppress(BayError):
        if path.exists():
            return load_key(path).public
    return ""


def _make(path: Path) -> None:
    """Write a new key beside its place and give it its name only when it is whole; the first of two makers wins."""
    path.parent.mkdir(parents=True, exist_ok=True)
    text = Ed25519PrivateKey.generate().private_bytes(
        serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    )
    part = path.with_name(f".{path.name}.{os.getpid()}")
    handle = os.open(part, os.O_WRONLY | os.O_CREAT | os.O_TRUNC | os.O_CLOEXEC, 0o600)
    try:
        os.fchmod(handle, 0o600)
        os.write(handle, text)
        os.fsync(handle)
        with contextlib.suppress(FileExistsError):
            os.link(part, path)
    finally:
        os.close(handle)
        part.unlink()
    sync_folder(path.parent)
