"""Secret and key at rest: written once at sealing, read by the few services that must.

Under a key holder's passphrase each tray's order is shut by itself, and the rest in one piece. Who
is told at a split sitting stays outside: phones have to know it, and it tells no cup from another.
"""

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from sqlalchemy.orm import Session

from panel.core.allocation import dice
from panel.core.allocation.dice import Dice
from panel.core.allocation.trays import SittingDraw, informed_of, key_of
from panel.core.allocation.written_secret import WrittenSecret
from panel.core.comparison import Key
from panel.core.errors import Fault, PanelError
from panel.core.message import say
from panel.services.workplace import Workplace
from panel.store import key_at_rest, key_lock, seals

REST = "rest"
"""What a passphrase shuts besides the orders of the trays."""


@dataclass(frozen=True)
class Secrets:
    """What the seal keeps shut: the draw's secret (32 bytes), the key, the numbers of the
    trays that the lots of split sittings have informed, the secret's parts where members threw
    dice."""

    secret: bytes
    key: Key
    informed: frozenset[int] = frozenset()
    dice: Dice | None = None

    def with_draw(self, draw: SittingDraw) -> "Secrets":
        """The same with the trays of one more sitting."""
        key = {**self.key, **key_of((draw,))}
        return replace(self, key=key, informed=self.informed | informed_of((draw,)))

    def written(self) -> WrittenSecret:
        """What goes into the sealed envelope: from it everything can be drawn again."""
        if self.dice is None:
            return WrittenSecret(self.secret)
        return WrittenSecret(self.dice.own, self.dice.text)


@dataclass(frozen=True, repr=False)
class Passphrase:
    """The key that a passphrase made, and the salt it was made with."""

    key: bytes
    salt: bytes


def wrap(
    at: Workplace, comparison_id: str, secrets: Secrets, under: Passphrase | None = None
) -> key_at_rest.Ciphertext:
    """Secret and key as one ciphertext, under a passphrase if there is one."""
    words = words_of(secrets)
    if under is not None:
        words = _locked(at, comparison_id, words, under)
    locked = under is not None
    return key_at_rest.encrypt(
        at.instance_key, comparison_id, _canonical(words), at.entropy, locked=locked
    )


def _locked(
    at: Workplace, comparison_id: str, words: dict[str, Any], under: Passphrase
) -> dict[str, Any]:
    """The words of a locked key: nothing in them but the lots can be read."""

    def shut(part: str, plain: bytes) -> str:
        return key_lock.shut(under.key, comparison_id, part, plain, at.entropy).hex()

    rest = {name: value for name, value in words.items() if name not in ("key", "informed")}
    return {
        "salt": under.salt.hex(),
        "informed": words.get("informed", []),
        "orders": {
            number: shut(f"tray {number}", order.encode()) for number, order in words["key"].items()
        },
        REST: shut(REST, _canonical(rest)),
    }


def _canonical(words: Mapping[str, Any]) -> bytes:
    return json.dumps(words, sort_keys=True, separators=(",", ":")).encode()


def words_of(secrets: Secrets) -> dict[str, Any]:
    """Secret and key in JSON words; who is told only where a sitting is split, dice only where
    they were thrown."""
    words: dict[str, Any] = {
        "secret": secrets.secret.hex(),
        "key": {str(number): order for number, order in secrets.key.items()},
    }
    if secrets.informed:
        words["informed"] = sorted(secrets.informed)
    if secrets.dice is not None:
        words["dice"] = secrets.dice.words()
    return words


def from_words(words: Mapping[str, Any]) -> Secrets:
    """The secrets that `words_of` wrote."""
    return Secrets(
        bytes.fromhex(words["secret"]),
        {int(number): order for number, order in words["key"].items()},
        frozenset(words.get("informed", ())),
        dice.from_words(words["dice"]) if "dice" in words else None,
    )


def unwrap(
    session: Session, at: Workplace, comparison_id: str, under: Passphrase | None = None
) -> Secrets:
    """Secret and key of a sealed comparison; the caller records why it looked. PanelError
    "key-locked" if there is a passphrase on it and `under` is not what it made."""
    words, locked = _resting(session, at, comparison_id)
    if not locked:
        return from_words(words)
    orders = {
        number: _opened(under, comparison_id, f"tray {number}", shut).decode()
        for number, shut in words["orders"].items()
    }
    rest = json.loads(_opened(under, comparison_id, REST, words[REST]))
    return from_words({**rest, "key": orders, "informed": words["informed"]})


def order_of(
    session: Session,
    at: Workplace,
    comparison_id: str,
    number: int,
    under: Passphrase | None = None,
) -> str:
    """The order of one tray. Under a passphrase no other is opened, not even in memory."""
    words, locked = _resting(session, at, comparison_id)
    if not locked:
        return from_words(words).key[number]
    shut = words["orders"][str(number)]
    return _opened(under, comparison_id, f"tray {number}", shut).decode()


def lots(session: Session, at: Workplace, comparison_id: str) -> frozenset[int]:
    """The trays that the lots of split sittings have informed, passphrase or none."""
    words, _ = _resting(session, at, comparison_id)
    return frozenset(words.get("informed", ()))


def is_locked(session: Session, comparison_id: str) -> bool:
    """Whether a passphrase is on the sealed key."""
    resting = seals.rest(session, comparison_id)
    return resting is not None and resting.locked


def salt_of(session: Session, at: Workplace, comparison_id: str) -> bytes | None:
    """The salt of the passphrase on a sealed key; None where there is no passphrase on it."""
    words, locked = _resting(session, at, comparison_id)
    return bytes.fromhex(words["salt"]) if locked else None


def fits(session: Session, at: Workplace, comparison_id: str, under: Passphrase) -> bool:
    """Whether a passphrase is the one that is on a locked key."""
    words, _ = _resting(session, at, comparison_id)
    part = bytes.fromhex(words[REST])
    return key_lock.opened(under.key, comparison_id, REST, part) is not None


def _resting(session: Session, at: Workplace, comparison_id: str) -> tuple[dict[str, Any], bool]:
    """What lies under the instance key, and whether it is under a passphrase as well."""
    resting = seals.rest(session, comparison_id)
    if resting is None:
        raise PanelError(
            "not-sealed",
            say("This comparison is not sealed yet: there is no key. Seal it first."),
            Fault.STANDING,
        )
    words: dict[str, Any] = json.loads(key_at_rest.decrypt(at.instance_key, comparison_id, resting))
    return words, resting.locked


def _opened(under: Passphrase | None, comparison_id: str, part: str, shut: str) -> bytes:
    plain = None
    if under is not None:
        plain = key_lock.opened(under.key, comparison_id, part, bytes.fromhex(shut))
    if plain is None:
        raise PanelError(
            "key-locked",
            say(
                "The key holder has put a passphrase on the key: what shows which cup is which "
                "opens on their own page alone. Ask them; if the passphrase is lost, the sealed "
                "envelope opens the key."
            ),
            Fault.STANDING,
        )
    return plain


def secrets_of(secret: bytes, draws: Iterable[SittingDraw], thrown: Dice | None = None) -> Secrets:
    """What is to be kept shut of these draws."""
    drawn = tuple(draws)
    return Secrets(secret, key_of(drawn), informed_of(drawn), thrown)
