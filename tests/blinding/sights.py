"""What is to be seen of cups, in numbers: a row for each cup, a column for each thing.

Digits, sums and rests of codes, card numbers and labels; places on tray, wave, pile and sheet;
how a code stands to its neighbours'; every bit of token and short code. Nothing is left out for
being harmless: that is what is to be found out.
"""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from panel.core.names import Paper
from panel.core.paper.stock import PLAIN
from tests.blinding.cups import Cups, Whole

RESTS = range(2, 13)
CARDS_ON_A_SHEET = 4


@dataclass
class Sights:
    """Columns as they are gathered, each trays × cups. `raw` are plain numbers; `marks` say of a
    number whether it has one value, for attackers who only add up; `tables` can be looked up."""

    shape: tuple[int, int]
    raw: dict[str, NDArray[np.float32]] = field(default_factory=dict)
    marks: dict[str, NDArray[np.float32]] = field(default_factory=dict)
    tables: dict[str, Whole] = field(default_factory=dict)

    def number(self, name: str, values: NDArray[np.generic]) -> None:
        """A number of each cup, or of each tray."""
        self.raw[name] = self._spread(values).astype(np.float32)

    def kind(self, name: str, values: NDArray[np.generic]) -> None:
        """A whole number whose size means nothing: a mark for each value too."""
        self.number(name, values)
        spread = self._spread(values)
        for value in np.unique(values)[1:]:
            self.marks[f"{name} = {value}"] = (spread == value).astype(np.float32)

    def rests(self, name: str, values: Whole) -> None:
        """Its rests after division by 2 to 12."""
        for by in RESTS:
            self.kind(f"{name} mod {by}", values % by)

    def _spread(self, values: NDArray[np.generic]) -> NDArray[np.generic]:
        return np.broadcast_to(values if values.ndim == 2 else values[:, None], self.shape)


def sights_of(cups: Cups) -> Sights:
    """Everything that is to be seen of these cups."""
    seen = Sights(cups.code.shape)  # type: ignore[arg-type]
    _codes(seen, cups)
    _tray_mates(seen, cups)
    _places(seen, cups)
    for place in range(cups.bits.shape[1]):
        seen.number(f"bit {place}", cups.bits[:, place])
    seen.number("bits set", cups.bits.sum(axis=1))
    return seen


def _codes(seen: Sights, cups: Cups) -> None:
    code = cups.code
    digits = np.stack([code // 100, code // 10 % 10, code % 10])
    for name, digit in zip(("first", "second", "third"), digits, strict=True):
        seen.kind(f"{name} digit", digit)
    seen.number("code", code)
    seen.rests("code", code)
    seen.kind("sum of digits", digits.sum(axis=0))
    seen.number("odd digits", (digits % 2).sum(axis=0))
    seen.number("largest digit", digits.max(axis=0))
    seen.number("rising", (digits[0] < digits[1]) * 1 + (digits[1] < digits[2]))
    seen.tables["code"] = code


def _tray_mates(seen: Sights, cups: Cups) -> None:
    """How a cup's code stands to those beside it, and to the trays before and after."""
    code = cups.code
    seen.kind("rank on the tray", code.argsort(axis=1).argsort(axis=1))
    seen.number("above the tray's mean", code - code.mean(axis=1, keepdims=True))
    for by in RESTS:
        rest = code % by
        alike = (rest[:, :, None] == rest[:, None, :]).sum(axis=2)
        seen.number(f"cups of the tray with the same rest by {by}", alike)
    for step, name in ((1, "before"), (-1, "after")):
        beside = np.roll(code, step, axis=1)
        seen.number(f"code of the cup {name}", beside)
        seen.number(f"distance to the cup {name}", code - beside)
        next_tray = np.roll(code, step, axis=0)
        seen.number(f"code at this place on the tray {name}", next_tray)
        seen.number(f"distance to this place on the tray {name}", code - next_tray)
        seen.number(f"as even as on the tray {name}", code % 2 == next_tray % 2)


def _places(seen: Sights, cups: Cups) -> None:
    trays, on_tray = cups.code.shape
    position = np.broadcast_to(np.arange(on_tray), (trays, on_tray))
    seen.kind("position", position)
    seen.kind("place in the wave", cups.place)
    seen.kind("wave", cups.wave)
    seen.number("spare", cups.spare)
    seen.number("card number", cups.number)
    seen.rests("card number", cups.number)
    seen.kind("check letter", cups.check)
    sheets = -(-cups.cards // CARDS_ON_A_SHEET)
    seen.number("sheet of the card", cups.card % sheets)
    seen.kind("card's place on its sheet", cups.card // sheets)
    stock = PLAIN[Paper.A4]
    seen.number("label", cups.label)
    seen.rests("label", cups.label)
    seen.kind("row of the label", cups.label % stock.count // stock.columns)
    seen.kind("column of the label", cups.label % stock.columns)
    seen.number(
        "label less its usual place", cups.label - (cups.card[:, None] * on_tray + position)
    )
    seen.tables["card number and position"] = cups.number[:, None] * on_tray + position
    seen.tables["label"] = cups.label
    for by in RESTS:
        name = f"card number mod {by} and position"
        seen.tables[name] = (cups.number % by)[:, None] * on_tray + position
