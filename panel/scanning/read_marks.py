"""Each place of a card: empty, marked, or unsure and then for which reason."""

from dataclasses import dataclass
from enum import StrEnum

from panel.core.paper.card_parts import Place
from panel.scanning.darkness import Darkness
from panel.scanning.projective import Floats
from panel.scanning.thresholds import THRESHOLDS as T


class State(StrEnum):
    """What a place was found to be."""

    EMPTY = "empty"
    UNSURE = "unsure"
    MARKED = "marked"


class Doubt(StrEnum):
    """Why a place is unsure."""

    LITTLE = "little"  # too dark for empty, too light for marked
    THROUGH = "through"  # a line passes through it
    AROUND = "around"  # darkness lies around it
    PALE = "pale"  # a light trace without ink: rubbed out, or pressed too lightly
    OUTLINE = "outline"  # its printed outline was not found clearly


@dataclass(frozen=True, kw_only=True)
class PlaceReading:
    """One place: what it was found to be, the measures, and where it lies on the page.

    `at`: its centre and `radius` in pixels of the page, for showing it. `cover`, `depth`, `band`
    are shares (`darkness.Darkness`), `outline` the strength of its printed outline.
    """

    place: Place
    state: State
    doubt: Doubt | None
    cover: float
    depth: float
    band: float
    outline: float
    at: tuple[float, float]
    radius: float


def doubts(measures: Darkness, outline: Floats) -> tuple[tuple[State, Doubt | None], ...]:
    """The state of every place, and the doubt where it is unsure."""
    return tuple(
        _judged(measures, float(strength), index) for index, strength in enumerate(outline)
    )


def _judged(measures: Darkness, outline: float, index: int) -> tuple[State, Doubt | None]:
    cover, band = float(measures.cover[index]), float(measures.band[index])
    doubt = _doubt(measures, cover, band, index)
    if doubt is None and outline < T.outline_least:
        doubt = Doubt.OUTLINE
    if doubt is not None:
        return State.UNSURE, doubt
    return (State.MARKED if cover > T.marked_above else State.EMPTY), None


def _doubt(measures: Darkness, cover: float, band: float, index: int) -> Doubt | None:
    if cover < T.empty_below:
        return None
    if cover <= T.marked_above:
        return Doubt.LITTLE
    line = bool(measures.through[index]) and int(measures.exits[index]) <= 2
    if cover < T.through_below and line:
        return Doubt.THROUGH
    if band > (T.band_most_filled if cover >= T.filled_above else T.band_most):
        return Doubt.AROUND
    return None
