"""Each place of a card: empty, marked, or unsure and then for which reason."""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from panel.core.paper.card_parts import Place, PlaceKind
from panel.scanning.darkness import Darkness
from panel.scanning.outlines import Outlines
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
    are shares (`darkness.Darkness`); `outline` is the strength of its printed
    outline and of its neighbours', `borne_out` whether its own stands where theirs say.
    """

    place: Place
    state: State
    doubt: Doubt | None
    cover: float
    depth: float
    band: float
    outline: float
    borne_out: bool
    at: tuple[float, float]
    radius: float


def judged(
    measures: Darkness, outlines: Outlines, places: tuple[Place, ...]
) -> tuple[tuple[State, Doubt | None], ...]:
    """The state of every place, and the doubt where it is unsure."""
    printed = outlines.line >= T.line_least * np.median(outlines.line)
    seen = borne_out(outlines, T.outline_apart_most) & printed
    found: list[tuple[State, Doubt | None]] = []
    for index, place in enumerate(places):
        dark = _dark(measures, place.kind, outlines.tone, index)
        if isinstance(dark, Doubt):
            found.append((State.UNSURE, dark))
        elif outlines.pooled[index] < T.outline_least or not (dark or seen[index]):
            found.append((State.UNSURE, Doubt.OUTLINE))
        else:
            found.append((State.MARKED if dark else State.EMPTY, None))
    return tuple(found)


def borne_out(outlines: Outlines, apart_most: float) -> NDArray[np.bool_]:
    """Whether each place's own outline stands clearly where its neighbourhood says: without that,
    white paper is no proof of an empty place. apart_most: millimetres."""
    return (outlines.own >= T.own_outline_least) & (outlines.apart <= apart_most)


def enough_borne_out(places: tuple[PlaceReading, ...]) -> bool:
    """Whether so many of the white places of a card show their outlines that it lies right.

    Where a card was laid over the wrong marks, some places fall on white paper or on print that
    looks a little like an outline, but never most of them.
    """
    white = [one for one in places if one.cover < T.empty_below]
    seen = sum(one.borne_out for one in white)
    return seen >= max(T.confirmed_count_least, T.confirmed_least * len(white))


def _dark(measures: Darkness, kind: PlaceKind, tone: float, index: int) -> bool | Doubt:
    """Whether a place is filled, or why that is not clear."""
    ring = kind is PlaceKind.MARK
    cover, band = float(measures.cover[index]), float(measures.band[index])
    if band > _band_most(ring, cover):
        return Doubt.AROUND
    if cover < T.empty_below:
        if ring and measures.circle[index] > T.circle_most:
            return Doubt.AROUND
        return Doubt.PALE if measures.pale[index] > T.pale_most else False
    if _crossed(measures, ring, cover, index):
        return Doubt.THROUGH
    drawn = ring and measures.drawn[index]
    if cover <= (T.marked_above if ring else T.square_marked_above) and not drawn:
        return Doubt.LITTLE
    return Doubt.PALE if _evened(float(measures.depth[index]), tone) < T.depth_least else True


def _crossed(measures: Darkness, ring: bool, cover: float, index: int) -> bool:
    """Whether a line passes through, or strokes cross a filled ring out.

    Nobody ticks or crosses a small square: what leaves it is the end of something else.
    """
    if cover < T.through_below and measures.through[index] >= T.line_share:
        return True
    if ring:
        return cover >= T.struck_above and bool(measures.struck[index])
    neat = cover >= T.through_below and float(measures.band[index]) <= T.band_most_empty
    return bool(measures.leaves[index]) and not neat


def _band_most(ring: bool, cover: float) -> float:
    """Which share of its surroundings may be dark."""
    if not ring:
        return T.band_most
    if cover >= T.filled_above:
        return T.band_most_filled
    return T.band_most_empty if cover < T.empty_below else T.band_most


TONE_SLOPE = 2.5
"""Exponent of a picture's greys for one of tone, measured on pictures darkened by 1.0 to 1.8."""


def _evened(depth: float, tone: float) -> float:
    """The darkness of a mark in a picture that shows greys as they were printed.

    A picture that is darkened in its middle greys makes a rubbed-out mark look like a light one. It
    darkens the printed outlines as well, so by their tone the mark is made lighter; never darker.
    """
    exponent = 1 + TONE_SLOPE * max(tone - T.tone_of_print, 0.0)
    return float(1 - max(1 - depth, 0.0) ** (1 / exponent))
