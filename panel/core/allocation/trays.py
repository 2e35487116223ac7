"""A sitting's draw: which tray gets which order, and which code stands on which cup.

Card numbers run upwards through waves, trays and spares, so that tray 14 is found beside 13; the
orders come to them shuffled, so a number says nothing of its order.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

from panel.core.allocation.check_letter import HIGHEST_CARD_NUMBER
from panel.core.allocation.codes import deal_codes, too_many_cups, usable_codes
from panel.core.allocation.draw import CODES, INFORMED, ORDERS, Stream, purpose_of
from panel.core.allocation.orders import (
    Waves,
    deal_independent_orders,
    deal_orders,
    wave_sizes_of,
)
from panel.core.allocation.split import draw_lots
from panel.core.comparison import Key
from panel.core.errors import PanelError
from panel.core.message import say

WAVE_SIZES = (6, 12)


class CupRole(StrEnum):
    """What a cup is to its taster: one that is asked about, or one shown as known."""

    SAMPLE = "sample"
    REFERENCE = "reference"


@dataclass(frozen=True)
class DrawnCup:
    """A cup with its answer: place on the tray from 1, three digits, beer letter."""

    position: int
    code: str
    beer: str
    role: CupRole = CupRole.SAMPLE


@dataclass(frozen=True)
class DrawnTray:
    """A tray with its answer. `number` is the card's; `wave` counts from 1, `place` in it too.

    `informed`: the lots of a split sitting have it that its taster is told.
    """

    number: int
    wave: int
    place: int
    order: str
    cups: tuple[DrawnCup, ...]
    spare: bool = False
    informed: bool = False

    def codes(self) -> tuple[str, ...]:
        """The codes in serving order."""
        return tuple(cup.code for cup in self.cups)


@dataclass(frozen=True)
class SittingDraw:
    """All trays of a sitting by number: the `planned` ones, then spares, `drawn` altogether."""

    sitting_id: str
    planned: int
    drawn: int
    wave_size: int
    trays: tuple[DrawnTray, ...]


def draw_sitting(
    secret: bytes,
    sitting_id: str,
    first_number: int,
    orders: Sequence[str],
    planned: int,
    wave_size: int,
    one_shuffle: bool,
    excluded_codes: Iterable[str] = (),
    spare_factor: int = 2,
    *,
    references: Sequence[int] = (),
    independent: bool = False,
    split: bool = False,
) -> SittingDraw:
    """The draw of one sitting; the same arguments always give the same draw.

    secret: the comparison's 32 bytes. orders: the method's complete set. planned: trays planned;
    `spare_factor` times as many are drawn, so that walk-ins need no key. Spares begin a new wave
    and are balanced on their own. references: positions (from 1) shown as known. one_shuffle: the
    steward can see the key. independent: answers may open tray by tray (parcels, repeat trials);
    each order is then drawn by itself, whatever `one_shuffle` says, and no code is used twice.
    split: lots decide which half of the trays is informed; otherwise none is marked.

    PanelError: "no-trays", "wave-size", "too-many-trays", "too-many-cups", "not-a-code".
    """
    drawn = planned * spare_factor
    _check_numbers(first_number, planned, drawn, wave_size)
    sizes = wave_sizes_of(planned, wave_size), wave_sizes_of(drawn - planned, wave_size)
    stream = Stream(secret, purpose_of(sitting_id, ORDERS))
    groups = tuple(  # planned trays, then spares: each balanced by itself
        deal_independent_orders(stream, orders, group)
        if independent
        else deal_orders(stream, orders, group, one_shuffle)
        for group in sizes
    )
    by_wave: Waves = groups[0] + groups[1]
    cups = [sum(map(len, wave)) for wave in by_wave]
    excluded = tuple(excluded_codes)
    if independent:
        _check_codes_for_all(sum(cups), len(usable_codes(excluded)))
    codes = deal_codes(Stream(secret, purpose_of(sitting_id, CODES)), cups, excluded)
    trays = _lay_out(by_wave, codes, first_number, len(sizes[0]), frozenset(references))
    if split:
        lots = Stream(secret, purpose_of(sitting_id, INFORMED))
        told = [one for group in groups for one in draw_lots(lots, group, one_shuffle)]
        trays = tuple(replace(tray, informed=one) for tray, one in zip(trays, told, strict=True))
    return SittingDraw(sitting_id, planned, drawn, wave_size, trays)


def key_of(draws: Iterable[SittingDraw]) -> Key:
    """Tray number to serving order, over all sittings."""
    return {tray.number: tray.order for draw in draws for tray in draw.trays}


def informed_of(draws: Iterable[SittingDraw]) -> frozenset[int]:
    """The numbers of the trays that the lots of split sittings have informed."""
    return frozenset(tray.number for draw in draws for tray in draw.trays if tray.informed)


def key_words(draws: Iterable[SittingDraw]) -> dict[str, list[list[str]]]:
    """The key as the seal and the bundle write it: {"17": [["482", "A"], ["153", "B"], ...]}.

    Card number to its cups in serving order, each its code and its beer.
    """
    return {
        str(tray.number): [[cup.code, cup.beer] for cup in tray.cups]
        for draw in draws
        for tray in draw.trays
    }


def _lay_out(
    by_wave: Waves,
    codes: Sequence[Sequence[str]],
    first_number: int,
    planned_waves: int,
    references: frozenset[int],
) -> tuple[DrawnTray, ...]:
    trays: list[DrawnTray] = []
    for wave, (orders, wave_codes) in enumerate(zip(by_wave, codes, strict=True), start=1):
        supply = iter(wave_codes)
        for place, order in enumerate(orders, start=1):
            cups = tuple(
                DrawnCup(position, next(supply), beer, _role(position, references))
                for position, beer in enumerate(order, start=1)
            )
            number = first_number + len(trays)
            trays.append(DrawnTray(number, wave, place, order, cups, wave > planned_waves))
    return tuple(trays)


def _role(position: int, references: frozenset[int]) -> CupRole:
    return CupRole.REFERENCE if position in references else CupRole.SAMPLE


def _check_numbers(first_number: int, planned: int, drawn: int, wave_size: int) -> None:
    if first_number < 1 or drawn < planned:
        raise ValueError("card numbers start at 1 or above, and no fewer trays drawn than planned")
    if planned < 1:
        raise PanelError("no-trays", say("Plan at least one tray for a sitting."), field="planned")
    if wave_size not in WAVE_SIZES:
        message = say(
            "Trays are poured in waves of %(small)s or %(large)s. Choose one of them.",
            small=WAVE_SIZES[0],
            large=WAVE_SIZES[1],
        )
        raise PanelError("wave-size", message, field="wave_size")
    last = first_number + drawn - 1
    if last > HIGHEST_CARD_NUMBER:
        message = say(
            "With its spares this sitting would reach card number %(last)s, and card numbers end "
            "at %(highest)s. Plan fewer tasters, or make a comparison of its own for the rest.",
            last=last,
            highest=HIGHEST_CARD_NUMBER,
        )
        raise PanelError("too-many-trays", message, field="planned")


def _check_codes_for_all(cups: int, codes: int) -> None:
    if cups > codes:
        raise too_many_cups(
            say(
                "Where a tray's own answer may open, no code can be used twice: the trays of this "
                "sitting with their spares need %(cups)s codes, and %(codes)s can be used. "
                "Plan fewer trays, or leave out fewer codes.",
                cups=cups,
                codes=codes,
            )
        )
