"""A key holder's passphrase on the sealed key: under the instance key, a second lock.

scrypt (RFC 7914) with N = 2^17, r = 8, p = 1 makes a key of the passphrase, HKDF makes of that one
key for each part: a single tray can be opened without opening any other. AES-256-GCM; comparison
and part are associated data, so that no part opens in another's place.
"""

from collections.abc import Callable

from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from cryptography.hazmat.primitives.kdf.scrypt import Scrypt

from panel.store.instance_key import derive

SALT_BYTES = 16
NONCE_BYTES = 12
KEY_BYTES = 32
COST, BLOCK, LANES = 2**17, 8, 1
"""N, r and p as for passwords: 128 MiB each time, so whoever calls does one at a time."""


def stretched(passphrase: str, salt: bytes) -> bytes:
    """The key that a passphrase makes, in its one Unicode form."""
    made = Scrypt(salt=salt, length=KEY_BYTES, n=COST, r=BLOCK, p=LANES)
    return made.derive(passphrase.encode())


def shut(
    key: bytes, comparison_id: str, part: str, plain: bytes, entropy: Callable[[int], bytes]
) -> bytes:
    """One part as nonce, ciphertext and tag."""
    nonce = entropy(NONCE_BYTES)
    cipher = AESGCM(derive(key, f"key lock {part}"))
    return nonce + cipher.encrypt(nonce, plain, _bound_to(comparison_id, part))


def opened(key: bytes, comparison_id: str, part: str, shut_part: bytes) -> bytes | None:
    """What was shut; None if this key does not open it."""
    nonce, rest = shut_part[:NONCE_BYTES], shut_part[NONCE_BYTES:]
    try:
        cipher = AESGCM(derive(key, f"key lock {part}"))
        return cipher.decrypt(nonce, rest, _bound_to(comparison_id, part))
    except (InvalidTag, ValueError):
        return None


def _bound_to(comparison_id: str, part: str) -> bytes:
    return f"key lock\0{comparison_id}\0{part}".encode()
