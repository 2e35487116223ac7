"""What a card's QR code holds: the service's address and the tray's token, and nothing else.

A token is drawn from the instance key, never from the draw of the comparison, so it says nothing
of the cups. The same 120 bits give the token in the code (80) and the short code that is typed
where no camera works (40). Both are written in the base 32 of RFC 4648, which has no 0, 1, 8, 9.

Capacities in alphanumeric mode at error level M are those of ISO/IEC 18004 (QR code): version 2
holds 38 characters, version 3 holds 61. A kit has one version for all its cards, so that no
card's code can be told from another's by its size; fewer modules are read better than more.
"""

from base64 import b32encode
from collections.abc import Iterable
from hashlib import sha256
from hmac import new as hmac
from typing import NamedTuple

from panel.core.errors import Fault, PanelError
from panel.core.message import say

TOKEN_LENGTH = 16
SHORT_LENGTH = 8
REF_LENGTH = 16

ALPHANUMERIC = frozenset("0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:")
"""The 45 characters of the QR code's alphanumeric mode."""

CAPACITIES = {2: 38, 3: 61}
"""QR version to the most alphanumeric characters at level M."""

BASE_32 = frozenset("ABCDEFGHIJKLMNOPQRSTUVWXYZ234567")

_MISREAD = str.maketrans({"0": "O", "1": "I", "8": "B"})


class TrayTokens(NamedTuple):
    """A tray's two secrets: the token in its QR code and the short code that is typed."""

    token: str
    short_code: str

    @property
    def shown(self) -> str:
        """The short code as cards show it: "ABCD EFGH"."""
        return f"{self.short_code[:4]} {self.short_code[4:]}"


def tray_tokens(instance_key: bytes, comparison: str, number: int, version: int) -> TrayTokens:
    """The secrets of one printing of a tray's card; a new version makes the old ones useless.

    HMAC-SHA-256 (RFC 2104) of "tray", comparison id, tray number and version, joined by zero
    bytes, under the instance key; in base 32 (RFC 4648), cut to 16 and 8 characters.
    """
    words = b"\x00".join(
        (b"tray", comparison.encode(), str(number).encode(), str(version).encode())
    )
    letters = b32encode(hmac(instance_key, words, sha256).digest()).decode("ascii")
    return TrayTokens(letters[:TOKEN_LENGTH], letters[TOKEN_LENGTH : TOKEN_LENGTH + SHORT_LENGTH])


def token_hash(token: str) -> str:
    """SHA-256 (hex) of a token: all that is kept of it."""
    return sha256(token.encode()).hexdigest()


def short_hash(short_code: str) -> str:
    """SHA-256 (hex) of a short code without its space."""
    return sha256(short_code.encode()).hexdigest()


def ref_of(token: str) -> str:
    """The name of a tray in addresses once its token has left them: 16 hex characters."""
    return token_hash(token)[:REF_LENGTH]


def typed_short_code(typed: str) -> str:
    """A typed short code in its true form: upper case, no spaces or hyphens, 0 1 8 as O I B.

    PanelError "not-a-short-code" if it cannot be one.
    """
    code = "".join(typed.split()).replace("-", "").upper().translate(_MISREAD)
    if len(code) != SHORT_LENGTH or not BASE_32.issuperset(code):
        raise PanelError(
            "not-a-short-code",
            say(
                "Type the eight letters and digits that stand behind “No camera?” on the card, "
                "like %(example)s.",
                example="ABCD EFGH",
            ),
            field="code",
        )
    return code


def qr_address(address: str, token: str) -> str:
    """What a QR code holds: the service's address in upper case, "/" and the token.

    PanelError "address-not-for-qr" if the address has a character that the short alphanumeric
    mode lacks.
    """
    text = f"{address.rstrip('/').upper()}/{token}"
    strange = sorted(set(text) - ALPHANUMERIC)
    if strange:
        raise PanelError(
            "address-not-for-qr",
            say(
                "The address %(address)s has “%(strange)s” in it, which the cards' codes cannot "
                "hold. Use an address of letters, digits, points, hyphens, colons and slashes.",
                address=address,
                strange=strange[0],
            ),
            Fault.PLACE,
            field="address",
        )
    return text


def qr_version(addresses: Iterable[str]) -> int:
    """The one QR version for all addresses of a kit: 2, or 3 if the longest demands it.

    PanelError "address-too-long" if even 3 cannot hold it.
    """
    longest = max(map(len, addresses), default=0)
    for version, capacity in CAPACITIES.items():
        if longest <= capacity:
            return version
    most = max(CAPACITIES.values())
    raise PanelError(
        "address-too-long",
        say(
            "The address is %(over)s characters too long for the cards' codes: with the token at "
            "most %(most)s fit. Set a shorter address, for example the machine's number in this "
            "network, like http://192.168.1.20:8000.",
            over=longest - most,
            most=most,
        ),
        Fault.PLACE,
        field="address",
    )
