"""The passphrase on a key: scrypt as another implementation has it, and parts that open alone.

scrypt is checked against Python's own (OpenSSL's) and against RFC 7914, section 12; the expected
bytes of that section are from memory of the RFC.
"""

import hashlib

import pytest
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from cryptography.hazmat.primitives.kdf.scrypt import Scrypt

from panel.store import key_lock
from panel.store.instance_key import derive
from panel.store.key_at_rest import Ciphertext, decrypt, encrypt

KEY = bytes(range(32))


def nonce(length: int) -> bytes:
    return b"\x07" * length


def test_a_passphrase_is_stretched_by_scrypt_at_full_cost() -> None:
    words, salt = "vier Körbe am Hafen", b"s" * key_lock.SALT_BYTES
    expected = hashlib.scrypt(words.encode(), salt=salt, n=2**17, r=8, p=1, maxmem=2**28, dklen=32)
    assert key_lock.stretched(words, salt) == expected


def test_the_librarys_scrypt_is_the_standards() -> None:
    """RFC 7914, section 12, second vector: N = 1024, r = 8, p = 16."""
    made = Scrypt(salt=b"NaCl", length=64, n=1024, r=8, p=16).derive(b"password")
    assert made.hex().startswith("fdbabe1c9d3472007856e7190d01e9fe7c6ad7cbc8237830e773")


def test_each_part_has_a_key_of_its_own() -> None:
    shut = key_lock.shut(KEY, "comparison01", "tray 1", b"ABA", nonce)
    cipher = AESGCM(derive(KEY, "key lock tray 1"))
    assert cipher.decrypt(nonce(12), shut[12:], b"key lock\0comparison01\0tray 1") == b"ABA"
    assert key_lock.opened(KEY, "comparison01", "tray 1", shut) == b"ABA"
    assert derive(KEY, "key lock tray 1") != derive(KEY, "key lock tray 2")


@pytest.mark.parametrize(
    ("key", "comparison", "part", "cut"),
    [
        (b"\1" * 32, "comparison01", "tray 1", 0),
        (KEY, "comparison02", "tray 1", 0),
        (KEY, "comparison01", "tray 2", 0),
        (KEY, "comparison01", "tray 1", 1),
        (KEY, "comparison01", "tray 1", 25),
    ],
    ids=["other passphrase", "other comparison", "other tray", "changed", "cut"],
)
def test_nothing_else_opens_a_part(key: bytes, comparison: str, part: str, cut: int) -> None:
    shut = key_lock.shut(KEY, "comparison01", "tray 1", b"ABA", nonce)
    assert key_lock.opened(key, comparison, part, shut[: len(shut) - cut]) is None


def test_that_a_key_is_locked_cannot_be_written_over() -> None:
    """Algorithm and version are bound in: a locked ciphertext called an open one does not open."""
    locked = encrypt(KEY, "comparison01", b"{}", nonce, locked=True)
    assert locked.locked
    assert decrypt(KEY, "comparison01", locked) == b"{}"
    open_one = encrypt(KEY, "comparison01", b"{}", nonce)
    assert not open_one.locked
    for bytes_, like in ((locked.bytes, open_one), (open_one.bytes, locked)):
        with pytest.raises(Exception, match="does not open"):
            decrypt(KEY, "comparison01", Ciphertext(bytes_, like.algorithm, like.version))
