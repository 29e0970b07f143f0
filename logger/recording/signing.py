"""The workshop's key: whoever holds it finished the recording, and nobody has rewritten it since.

Seals alone need no secret, so whoever changes a recording can seal it anew. An Ed25519 key (RFC 8032)
signs the end of a finished recording; the public half stands beside the signature, so that a customer or
another laptop can check it and still cannot sign. A shared secret (HMAC) would let every checker forge.
"""

import hashlib
import os
from pathlib import Path
from typing import Any

from ..durable import force_names, make_folder
from ..errors import LoggerError
from ..files import read_small
from .records import End, Signed, end_message, signed_message


class KeyFileError(LoggerError):
    """The file of a workshop's key that cannot be used."""

    def __init__(self, path: Path, what: str) -> None:
        """`what` is wrong with it, and what to do."""
        super().__init__(f"key {path}: {what}")
        self.path, self.what = path, what


class WorkshopKey:
    """A key that signs. key: its public half, in hexadecimal digits."""

    def __init__(self, private: Any) -> None:
        """From a private key of the library."""
        self._private = private
        self.key: str = private.public_key().public_bytes_raw().hex()

    @classmethod
    def make(cls, path: Path) -> "WorkshopKey":
        """A new key in a new file, for its owner's eyes only. Raises KeyFileError; an old key is kept."""
        from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

        private = Ed25519PrivateKey.generate()
        try:
            make_folder(path.parent)
            number = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
            with os.fdopen(number, "w", encoding="ascii") as file:
                file.write(private.private_bytes_raw().hex() + "\n")
                file.flush()
                os.fsync(file.fileno())
            force_names(path.parent)
        except FileExistsError as error:
            raise KeyFileError(
                path, "is there already, and what it signed must stay its own: keep it"
            ) from error
        except OSError as error:
            raise KeyFileError(path, f"cannot be written: {error.strerror or error}") from error
        return cls(private)

    @classmethod
    def load(cls, path: Path) -> "WorkshopKey | None":
        """The key of a file; None where there is no file. Raises KeyFileError."""
        from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

        try:
            secret = read_small(path).strip()
            open_to_others = os.name == "posix" and path.stat().st_mode & 0o077
        except FileNotFoundError:
            return None
        except OSError as error:
            raise KeyFileError(path, f"cannot be read: {error.strerror or error}") from error
        if open_to_others:
            raise KeyFileError(path, "others may read it, so it proves nothing: chmod 600, or make another")
        try:
            return cls(Ed25519PrivateKey.from_private_bytes(bytes.fromhex(secret.decode("ascii"))))
        except ValueError as error:
            raise KeyFileError(path, "is no key: put it aside and make another") from error

    def sign(self, message: bytes) -> str:
        """The signature, in hexadecimal digits."""
        return str(self._private.sign(message).hex())


def signature_holds(end: End) -> bool:
    """Whether the key that an end names has signed it."""
    return _holds(end.key, end.signature, end_message(end))


def journal_signature_holds(signed: Signed) -> bool:
    """Whether the key that a journal's signature names has made it."""
    return _holds(signed.key, signed.signature, signed_message(signed))


def _holds(key: str, signature: str, message: bytes) -> bool:
    from cryptography.exceptions import InvalidSignature
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

    try:
        public = Ed25519PublicKey.from_public_bytes(bytes.fromhex(key))
        public.verify(bytes.fromhex(signature), message)
    except (InvalidSignature, ValueError):
        return False
    return True


def mark(key: str) -> str:
    """A key's mark for people to compare: four groups of four digits."""
    digits = hashlib.sha256(key.encode("utf-8", "replace")).hexdigest()
    return "-".join(digits[k : k + 4] for k in range(0, 16, 4))
