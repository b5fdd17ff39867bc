"""The bay's own key: Ed25519 (RFC 8032), made on first use, for sealing jobs.

Whoever can read the file can seal in the bay's name, so only its owner may. The key proves which bay sealed a job and
that nothing was changed since; who stood in front of the screen it cannot prove.

The public half is pinned in `bay.pub` beside the key when it is first used. From then on a record that another key
signed does not pass for this bay's, and a key that was exchanged is not signed with.
"""

from __future__ import annotations

import contextlib
import os
import re
import threading
from pathlib import Path
from typing import Final

import platformdirs
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives import serialization
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey

from bayvoice.errors import BayError
from bayvoice.host.writing import sync_folder
from bayvoice.language.texts import tell

_OTHERS: Final = 0o077
_HEX: Final = re.compile(r"[0-9a-f]{64}")


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


def pin_path(path: Path | None = None) -> Path:
    """Where the public half of the key `path` is pinned."""
    return (path or key_path()).with_suffix(".pub")


def parse_key(text: str) -> str:
    """A public key as it is printed, hex of 32 bytes; BayError where `text` is none."""
    key = text.strip().lower()
    if not _HEX.fullmatch(key):
        raise BayError(tell("record-no-public-key"), text[:80], tell("record-give-64-hexadecimal-figures-as-printed"))
    return key


def load_key(path: Path | None = None) -> BayKey:
    """This bay's key, made and pinned where there is none yet.

    Raises:
        BayError: the file cannot be read or made, is not such a key, others than its owner may read it, or it is not
            the key that was pinned.
    """
    path = path or key_path()
    try:
        if not path.exists():
            _make(path)
        if path.stat().st_mode & _OTHERS:
            raise BayError(tell("record-others-may-read-bays-key"), str(path), tell("record-take-from-them-chmod-600"))
        key = serialization.load_pem_private_key(path.read_bytes(), password=None)
    except (OSError, ValueError, TypeError) as error:
        why = getattr(error, "strerror", None) or tell("record-is-not-key")
        raise BayError(
            tell("record-bays-key-cannot-be-used", why=why), str(path), tell("record-look-at-file-and-rights")
        ) from error
    if not isinstance(key, Ed25519PrivateKey):
        raise BayError(tell("record-bays-key-is-of-another"), str(path), tell("record-move-away-new-one-is-made"))
    found = BayKey(key)
    if not _pinned(path):
        # Where nothing can be written beside it, the key itself is all there is to go by.
        with contextlib.suppress(OSError):
            _put_down(pin_path(path), f"{found.public}\n".encode())
    if _pinned(path) not in ("", found.public):
        raise BayError(
            tell("record-bays-key-is-not-one"),
            str(path),
            tell("record-put-old-key-back-or-move", path=pin_path(path)),
        )
    return found


def known_key(path: Path | None = None) -> str:
    """The public key this bay is known by: the pinned one, else its key's; "" where there is neither. Makes nothing."""
    path = path or key_path()
    if pinned := _pinned(path):
        return pinned
    with contextlib.suppress(BayError, OSError):
        if path.exists():
            return load_key(path).public
    return ""


def _pinned(path: Path) -> str:
    try:
        text = pin_path(path).read_text(encoding="ascii").strip()
    except (OSError, ValueError):
        return ""
    return text if _HEX.fullmatch(text) else ""


def _make(path: Path) -> None:
    """Write a new key beside its place and give it its name only when it is whole; the first of two makers wins."""
    path.parent.mkdir(parents=True, exist_ok=True)
    text = Ed25519PrivateKey.generate().private_bytes(
        serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    )
    _put_down(path, text)


def _put_down(path: Path, data: bytes) -> None:
    part = path.with_name(f".{path.name}.{os.getpid()}.{threading.get_ident()}")
    handle = os.open(part, os.O_WRONLY | os.O_CREAT | os.O_TRUNC | os.O_CLOEXEC, 0o600)
    try:
        os.fchmod(handle, 0o600)
        os.write(handle, data)
        os.fsync(handle)
        with contextlib.suppress(FileExistsError):
            os.link(part, path)
    finally:
        os.close(handle)
        part.unlink()
    sync_folder(path.parent)
