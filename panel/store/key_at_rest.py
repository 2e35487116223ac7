"""Secret and key of a comparison at rest: one opaque ciphertext until closing.

AES-256-GCM under a key of its own purpose (HKDF of the instance key). The comparison's id is
associated data: a ciphertext put beside another comparison does not open. Algorithm and version
stand beside it, so that it can be wrapped anew one day; they also say whether a key holder's
passphrase (key_lock.py) has to open what is inside.
"""

from collections.abc import Callable
from dataclasses import dataclass

from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.ciphers.aead import AESGCM

from panel.core.errors import Fault, PanelError
from panel.core.message import say
from panel.store.instance_key import derive

ALGORITHM = "AES-256-GCM/HKDF-SHA256"
VERSION = 1
LOCKED = "AES-256-GCM/HKDF-SHA256 over AES-256-GCM/scrypt-2^17-8-1"
LOCKED_VERSION = 2
KNOWN = {(ALGORITHM, VERSION), (LOCKED, LOCKED_VERSION)}
PURPOSE = "key at rest"
NONCE_BYTES = 12  # as NIST SP 800-38D recommends; random, used once a key and sealing


@dataclass(frozen=True)
class Ciphertext:
    """Nonce, ciphertext and tag as one run of bytes, and how they were made."""

    bytes: bytes
    algorithm: str = ALGORITHM
    version: int = VERSION

    @property
    def locked(self) -> bool:
        """Whether a passphrase lies under the instance key."""
        return self.algorithm == LOCKED


def encrypt(
    instance_key: bytes,
    comparison_id: str,
    plain: bytes,
    entropy: Callable[[int], bytes],
    *,
    locked: bool = False,
) -> Ciphertext:
    """`plain` shut away for that comparison. locked: what is in it is under a passphrase."""
    made = (LOCKED, LOCKED_VERSION) if locked else (ALGORITHM, VERSION)
    nonce = entropy(NONCE_BYTES)
    cipher = AESGCM(derive(instance_key, PURPOSE))
    shut = cipher.encrypt(nonce, plain, _bound_to(comparison_id, *made))
    return Ciphertext(nonce + shut, *made)


def decrypt(instance_key: bytes, comparison_id: str, resting: Ciphertext) -> bytes:
    """What was shut away; PanelError (fault PLACE) if this instance key does not open it."""
    made = (resting.algorithm, resting.version)
    if made not in KNOWN:
        raise PanelError(
            "key-at-rest-unknown",
            say(
                "The sealed key was shut by a newer Panel (%(algorithm)s, version %(version)s). "
                "Install the newest Panel.",
                algorithm=resting.algorithm,
                version=resting.version,
            ),
            Fault.PLACE,
        )
    nonce, shut = resting.bytes[:NONCE_BYTES], resting.bytes[NONCE_BYTES:]
    try:
        cipher = AESGCM(derive(instance_key, PURPOSE))
        return cipher.decrypt(nonce, shut, _bound_to(comparison_id, *made))
    except (InvalidTag, ValueError) as error:  # ValueError: too short to hold nonce and tag
        raise PanelError(
            "key-at-rest-shut",
            say(
                "The sealed key does not open: it was shut with another instance.key, or it was "
                "changed. Put the right instance.key back, or use the sealed envelope."
            ),
            Fault.PLACE,
        ) from error


def _bound_to(comparison_id: str, algorithm: str, version: int) -> bytes:
    return f"{algorithm}\0{version}\0{comparison_id}".encode()
