"""The instance key: 32 random bytes in a file of their own, apart from the database.

Card addresses, cookies and the key at rest are all derived from it, each under its own purpose.
Losing it ends reprinting and opening by machine, not open ballots: rows hold hashes of addresses.
"""

import contextlib
import os
from collections.abc import Callable
from pathlib import Path

from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.kdf.hkdf import HKDF

from panel.core.errors import Fault, PanelError
from panel.core.message import say

FILE = "instance.key"
KEY_BYTES = 32

Entropy = Callable[[int], bytes]


def instance_key(folder: Path, entropy: Entropy) -> bytes:
    """The key in that folder, made (readable by its owner only) when there is none yet.

    PanelError (fault PLACE) if the folder is missing or cannot be written, or the file is damaged.
    """
    check_folder(folder)
    path = folder / FILE
    if not path.exists():
        _make(path, entropy)
    return _read(path)


def check_folder(folder: Path) -> None:
    """PanelError (fault PLACE) unless the folder is there and this account may write into it."""
    if not folder.is_dir():
        raise PanelError(
            "no-instance-folder",
            say(
                "There is no folder %(folder)s. Make it, or name the instance folder in the "
                "variable PANEL_INSTANCE.",
                folder=str(folder),
            ),
            Fault.PLACE,
        )
    if not os.access(folder, os.W_OK):
        raise _read_only(folder)


def derive(key: bytes, purpose: str, length: int = 32) -> bytes:
    """A key for one purpose: HKDF-SHA256 (RFC 5869) without salt, the purpose as its info."""
    info = b"panel " + purpose.encode()
    return HKDF(algorithm=SHA256(), length=length, salt=None, info=info).derive(key)


def fingerprint(key: bytes) -> str:
    """16 hex characters that tell keys apart and say nothing about them."""
    return derive(key, "fingerprint", 8).hex()


def holds(folder: Path, mark: str) -> bool:
    """Whether the folder has the key of that fingerprint."""
    path = folder / FILE
    return path.exists() and fingerprint(_read(path)) == mark


def _make(path: Path, entropy: Entropy) -> None:
    """Written beside and linked into place: whoever starts at the same time sees all or nothing,
    and the key that was there first stays."""
    beside = path.with_name(f"{FILE}.{entropy(8).hex()}")
    words = entropy(KEY_BYTES).hex() + "\n"
    try:
        _write_new(beside, words)
        try:
            os.link(beside, path)
        except FileExistsError:
            pass
        except OSError:  # a memory stick's file system has no links
            with contextlib.suppress(FileExistsError):
                _write_new(path, words)
        finally:
            beside.unlink()
    except OSError as error:
        raise _read_only(path.parent) from error


def _write_new(path: Path, words: str) -> None:
    descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(descriptor, "w", encoding="ascii", newline="\n") as file:
        file.write(words)
        file.flush()
        os.fsync(file.fileno())


def _read(path: Path) -> bytes:
    try:
        key = bytes.fromhex(path.read_text(encoding="ascii").strip())
    except (OSError, ValueError) as error:
        raise _unusable(path) from error
    if len(key) != KEY_BYTES:
        raise _unusable(path)
    return key


def _read_only(folder: Path) -> PanelError:
    return PanelError(
        "instance-folder-read-only",
        say(
            "Panel cannot write into the folder %(folder)s. Let this account write there, or name "
            "another folder in the variable PANEL_INSTANCE.",
            folder=str(folder),
        ),
        Fault.PLACE,
    )


def _unusable(path: Path) -> PanelError:
    return PanelError(
        "instance-key-unusable",
        say(
            "%(file)s cannot be read or is damaged: it must hold 64 characters 0-9 and a-f. Put "
            "the copy back that you keep apart from the database.",
            file=str(path),
        ),
        Fault.PLACE,
    )
