"""The seal: one SHA-256 over plan, key and secret, made public before the first cup.

Canonical bytes are JSON in UTF-8: keys sorted by their UTF-16 code units, no spaces, strings in
Unicode form NFC and escaped only where JSON demands it, numbers whole and within 2^53 - 1 either
way; other numbers are written as decimal strings. Modelled on RFC 8785 (JSON Canonicalization
Scheme), without its floating-point numbers: of any value that is allowed here a writer of RFC 8785
makes the same bytes.

    seal = SHA-256({"key":...,"plan":...,"secret":"<64 hex digits>","version":1})

Where a sitting is split by lot, `"informed":[...]` stands before "key": the numbers, upwards, of
the trays whose tasters are told. Without a split sitting there is no such member. Where members
threw dice before sealing (core.allocation.dice), both parts of the secret are under the seal too:
`"dice":{"random":"<64 hex digits>","text":"..."}`. Without dice there is no such member.

The secret's 256 bits keep anyone from trying out all plans (ten triangle trays have only 6^10, 60
million, orders); SHA-256 keeps anyone from finding another plan, key or secret with the same seal.
"""

import hashlib
import hmac
import json
import re
import unicodedata
from collections.abc import Iterable, Mapping
from typing import Any

from panel.core.allocation.draw import check_secret
from panel.core.errors import PanelError
from panel.core.message import say

VERSION = 1
LARGEST = 2**53 - 1
"""The largest whole number that every JSON reader keeps exactly (RFC 8785, 3.2.2.3; RFC 7493)."""

SHORT = 8
GROUP = 4


def canonical(value: Any) -> bytes:
    """The one way to write a value of mappings, lists, strings, whole numbers, booleans and None.

    TypeError for anything else, floats and decimals first of all: their digits would depend on the
    writer. ValueError for whole numbers beyond 2^53 - 1, for text that is not Unicode, and for two
    keys that are one in NFC.
    """
    text = json.dumps(_plain(value), ensure_ascii=False, separators=(",", ":"))
    return text.encode("utf-8")


def sealed_bytes(
    plan: Mapping[str, Any],
    key: Mapping[str, Any],
    secret: bytes,
    informed: Iterable[int] = (),
    dice: Mapping[str, str] | None = None,
) -> bytes:
    """What the seal is the SHA-256 of.

    plan: everything locked, rules included. key: as trays.key_words writes it. secret: 32 bytes.
    informed: numbers of the trays that the lots of split sittings have informed. dice: both parts
    of the secret where members threw dice (dice.Dice.words).
    """
    check_secret(secret)
    sealed: dict[str, Any] = {"key": key, "plan": plan, "secret": secret.hex(), "version": VERSION}
    if told := sorted(informed):
        sealed["informed"] = told
    if dice is not None:
        sealed["dice"] = dice
    return canonical(sealed)


def seal_digest(
    plan: Mapping[str, Any],
    key: Mapping[str, Any],
    secret: bytes,
    informed: Iterable[int] = (),
    dice: Mapping[str, str] | None = None,
) -> str:
    """The seal, 64 lower-case hex digits, of what `sealed_bytes` takes."""
    return hashlib.sha256(sealed_bytes(plan, key, secret, informed, dice)).hexdigest()


def seal_text(digest: str) -> str:
    """The seal as it is printed: 16 groups of 4, a space between them (two lines of 8 on paper)."""
    return " ".join(digest[start : start + GROUP] for start in range(0, len(digest), GROUP))


def short_seal(digest: str) -> str:
    """The first 8 digits, for the foot of a card: enough to see whether card and poster agree."""
    return digest[:SHORT]


def read_seal(text: str) -> str:
    """The seal in a printed or typed text, as 64 lower-case hex digits; spaces do not matter.

    PanelError "not-a-seal" for anything else.
    """
    digits = re.sub(r"\s+", "", text).lower()
    if re.fullmatch(r"[0-9a-f]{64}", digits):
        return digits
    raise PanelError(
        "not-a-seal",
        say(
            "This is not a whole seal. A seal has 64 characters, 0 to 9 and a to f, in 16 groups "
            "of 4: copy it from the poster or the public page once more."
        ),
        field="seal",
    )


def check_seal(
    seal: str,
    plan: Mapping[str, Any],
    key: Mapping[str, Any],
    secret: bytes,
    informed: Iterable[int] = (),
    dice: Mapping[str, str] | None = None,
) -> bool:
    """Whether this plan, key and secret are what was sealed. `seal` may be in its printed form."""
    return hmac.compare_digest(read_seal(seal), seal_digest(plan, key, secret, informed, dice))


def _plain(value: Any) -> Any:
    """The value with text in NFC and keys in order; refuses what has no single way of writing."""
    match value:
        case None | bool():
            return value
        case str():
            return unicodedata.normalize("NFC", value)
        case int():
            if abs(value) > LARGEST:
                raise ValueError(f"write numbers beyond {LARGEST} as text: {value}")
            return int(value)
        case list() | tuple():
            return [_plain(part) for part in value]
        case Mapping():
            return _plain_mapping(value)
        case _:
            raise TypeError(f"no canonical form for {type(value).__name__}; write it as text")


def _plain_mapping(value: Mapping[Any, Any]) -> dict[str, Any]:
    if not all(isinstance(name, str) for name in value):
        raise TypeError("the names in a mapping must be text")
    plain = {unicodedata.normalize("NFC", name): _plain(part) for name, part in value.items()}
    if len(plain) != len(value):
        raise ValueError("two names in a mapping are the same text in NFC")
    return dict(sorted(plain.items(), key=lambda item: item[0].encode("utf-16-be")))
