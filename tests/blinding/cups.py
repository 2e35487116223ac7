"""Cups of many sittings as whoever is blind meets them, and what each of them holds.

Drawn, numbered, labelled and given their tokens by the program's own functions. Each of these
steps can be taken by another one, so that a leak can be planted in it.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from hashlib import sha256

import numpy as np
from numpy.typing import NDArray

from panel.core.allocation.check_letter import card_number
from panel.core.allocation.comparison_draw import draw_one
from panel.core.allocation.labels import CupLabel, labels_in_print_order
from panel.core.allocation.trays import DrawnTray, SittingDraw
from panel.core.comparison import Comparison
from panel.core.methods import method_named
from panel.core.names import Blinding, SittingKind
from panel.core.paper.payload import TrayTokens, tray_tokens
from panel.core.plan import BALANCED
from tests.core.invented import a_comparison, a_sitting
from tests.printing.papers import plan_of

LETTERS_OF_BASE_32 = "ABCDEFGHIJKLMNOPQRSTUVWXYZ234567"

Whole = NDArray[np.int64]
Yes = NDArray[np.bool_]


def draw(secret: bytes, comparison: Comparison, _exchanged: bool) -> SittingDraw:
    """The draw as it is sealed. `_exchanged`: the second beer is A here; only a leak looks."""
    return draw_one(secret, comparison, comparison.sittings[0], 1)


def tokens(secret: bytes, comparison: Comparison, tray: DrawnTray) -> TrayTokens:
    """What a tray's card carries, under an instance key of its own."""
    key = sha256(b"instance" + secret).digest()
    return tray_tokens(key, comparison.id, tray.number, 1)


def labels(trays: Sequence[DrawnTray]) -> Sequence[CupLabel]:
    """The labels as they come out of the printer."""
    return labels_in_print_order((tray.number, tray.codes()) for tray in trays)


@dataclass(frozen=True, kw_only=True)
class Making:
    """How sittings are made: the steps of the program, or one with a leak in its place."""

    method: str = "triangle"
    reference: str = BALANCED
    blinding: Blinding = Blinding.DOUBLE
    kind: SittingKind = SittingKind.TABLE
    planned: int = 12
    draw: Callable[[bytes, Comparison, bool], SittingDraw] = draw
    tokens: Callable[[bytes, Comparison, DrawnTray], TrayTokens] = tokens
    labels: Callable[[Sequence[DrawnTray]], Sequence[CupLabel]] = labels


@dataclass(frozen=True, kw_only=True)
class Cups:
    """Trays × cups, tray after tray and sitting after sitting; or one entry a tray.

    `label`: place among the labels as printed, from 0. `card`: place in the pile, from 0, of
    `cards` in all. `bits`: of the token (80) and of the short code (40). `second`: it holds B.
    `exchanged`: B is the first beer at this sitting, as a coin had it. `asked`: not a reference
    that is the same for all.
    """

    code: Whole
    second: Yes
    label: Whole
    number: Whole
    check: Whole
    wave: Whole
    place: Whole
    spare: Yes
    card: Whole
    cards: Whole
    bits: Yes
    exchanged: Yes
    asked: Yes
    telling: Yes | None
    candidate: Yes

    @property
    def trays(self) -> int:
        """How many trays there are."""
        return len(self.code)


def cups_of(making: Making, sittings: int, seed: str = "cups") -> Cups:
    """So many sittings, each with a secret of its own and its beers lettered by a coin."""
    parts = [
        _sitting(making, sha256(f"{seed} {number}".encode()).digest()) for number in range(sittings)
    ]
    whole = {name: np.concatenate([part[name] for part in parts]) for name in parts[0]}
    telling, candidate = _telling(making.method, whole["second"])
    asked = np.ones_like(candidate)
    if making.reference != BALANCED:
        asked[:, 0] = False
    return Cups(**whole, asked=asked, telling=telling, candidate=candidate)


def comparison_of(making: Making, secret: bytes) -> Comparison:
    """A comparison with one sitting, of its own for each secret."""
    sitting = a_sitting(
        id=secret.hex()[:12], planned=making.planned, drawn=2 * making.planned, kind=making.kind
    )
    return a_comparison(
        id=secret.hex()[-12:],
        plan=replace(plan_of(making.method), reference=making.reference),
        blinding=making.blinding,
        sittings=(sitting,),
    )


def _sitting(making: Making, secret: bytes) -> dict[str, NDArray[np.generic]]:
    """One sitting's part of each array of `Cups`."""
    comparison = comparison_of(making, secret)
    exchanged = bool(secret[0] & 1)
    trays = making.draw(secret, comparison, exchanged).trays
    printed = {
        (label.number, label.position): place for place, label in enumerate(making.labels(trays))
    }
    carried = [making.tokens(secret, comparison, tray) for tray in trays]
    numbers = sorted(tray.number for tray in trays)
    one_each = np.ones(len(trays), dtype=np.int64)
    return {
        "code": np.array([[int(code) for code in tray.codes()] for tray in trays]),
        "second": np.array([[cup.beer == "B" for cup in tray.cups] for tray in trays]),
        "label": np.array([[printed[tray.number, cup.position] for cup in tray.cups]
                           for tray in trays]),
        "number": np.array([tray.number for tray in trays]),
        "check": np.array([ord(card_number(tray.number)[-1]) for tray in trays]),
        "wave": np.array([tray.wave for tray in trays]),
        "place": np.array([tray.place for tray in trays]),
        "spare": np.array([tray.spare for tray in trays]),
        "card": np.array([numbers.index(tray.number) for tray in trays]),
        "cards": one_each * len(trays),
        "bits": np.array([_bits(one) for one in carried]),
        "exchanged": one_each * exchanged == 1,
    }  # fmt: skip


def _bits(carried: TrayTokens) -> list[bool]:
    values = (LETTERS_OF_BASE_32.index(letter) for letter in carried.token + carried.short_code)
    return [bool(value >> place & 1) for value in values for place in range(5)]


def _telling(method: str, second: Yes) -> tuple[Yes | None, Yes]:
    """Of each tray the cup that answers its question, and the cups among which it is: the odd one
    of three, the one like the reference, the one of a tetrad that is like the first, the two of
    five. None where a letter is the answer."""
    candidate = np.ones_like(second)
    known = method_named(method)
    if known.cups == 3 and not known.references:
        odd = second.sum(axis=1) == 1  # one B among two As
        return second == odd[:, None], candidate
    if known.cups == 5:
        return second == (second.sum(axis=1) == 2)[:, None], candidate  # two Bs, else two As
    if known.references or known.cups == 4:
        candidate[:, 0] = False
        return (second == second[:, :1]) & candidate, candidate
    return None, candidate
