"""Secret and key at rest: written once at sealing, read by the few services that must."""

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
from panel.store import key_at_rest, seals


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


def wrap(at: Workplace, comparison_id: str, secrets: Secrets) -> key_at_rest.Ciphertext:
    """Secret and key as one ciphertext."""
    plain = json.dumps(words_of(secrets), sort_keys=True, separators=(",", ":")).encode()
    return key_at_rest.encrypt(at.instance_key, comparison_id, plain, at.entropy)


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


def unwrap(session: Session, at: Workplace, comparison_id: str) -> Secrets:
    """Secret and key of a sealed comparison; the caller records why it looked."""
    resting = seals.rest(session, comparison_id)
    if resting is None:
        raise PanelError(
            "not-sealed",
            say("This comparison is not sealed yet: there is no key. Seal it first."),
            Fault.STANDING,
        )
    return from_words(json.loads(key_at_rest.decrypt(at.instance_key, comparison_id, resting)))


def secrets_of(secret: bytes, draws: Iterable[SittingDraw], thrown: Dice | None = None) -> Secrets:
    """What is to be kept shut of these draws."""
    drawn = tuple(draws)
    return Secrets(secret, key_of(drawn), informed_of(drawn), thrown)
