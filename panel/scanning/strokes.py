"""What shape the ink of a place has: a line passing through, a stroke that begins or bends inside.

Points are in half widths from the place's centre; a round has AROUND points, evenly spread.
"""

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from panel.scanning.projective import Floats
from panel.scanning.thresholds import THRESHOLDS

Flags = NDArray[np.bool_]

AROUND = 64
OPPOSITE = 19
"""Points of a round, nearer to one another than a thin pen's line is wide; exits at least so many
of them apart (107 degrees) are opposite."""

ROUND_AT = 1.36
"""Half widths from the centre at which exits are looked for."""

BESIDE = 0.12
"""Half widths that a line may be less straight, or wider, than where it leaves."""

_APART = np.abs(np.arange(AROUND)[:, None] - np.arange(AROUND))
_ACROSS = ((_APART >= OPPOSITE) & (_APART <= AROUND - OPPOSITE)).astype(np.float32)


def wider(leaving: Flags) -> Flags:
    """Rounds (…, AROUND) with the neighbours of every point that is set."""
    return leaving | np.roll(leaving, 1, axis=-1) | np.roll(leaving, -1, axis=-1)


def opposite(leaving: Flags) -> Flags:
    """For rounds (n, AROUND) of where something leaves: whether it does on opposite sides."""
    met = (leaving.astype(np.float32) @ _ACROSS > 0) & leaving
    across: Flags = np.any(met, axis=1)
    return across


def passing(dark: Floats, leaving: Flags) -> tuple[float, float]:
    """The share of dark points (m, 2) on one straight line between opposite exits, and on all of
    these lines together; 0 without any.

    A cross and a tick leave on opposite sides too, but much of their ink lies beside any line; a
    place that was filled and then struck through has ink beside all of them.
    """
    best, every = 0.0, np.zeros(len(dark), bool)
    exits = list(_exits(leaving))
    for number, (one, wide) in enumerate(exits):
        for other, wide_too in exits[number + 1 :]:
            if OPPOSITE <= abs(one - other) <= AROUND - OPPOSITE:
                half = max(wide, wide_too) * np.pi * ROUND_AT / AROUND + BESIDE
                on_it = _off(dark, _at(one), _at(other)) <= half
                best, every = max(best, float(on_it.mean())), every | on_it
    return best, float(every.mean())


def _exits(leaving: Flags) -> Iterator[tuple[float, int]]:
    """The middle and the width of each run of points, in points of the round."""
    begins = np.flatnonzero(leaving & ~np.roll(leaving, 1))
    for begin in begins:
        rest = np.roll(leaving, -int(begin))
        wide = int(np.argmin(rest)) if not rest.all() else AROUND
        yield (float(begin) + (wide - 1) / 2) % AROUND, wide


def _at(point: float) -> Floats:
    angle = point * 2 * np.pi / AROUND
    return ROUND_AT * np.array([np.cos(angle), np.sin(angle)])


def _off(dark: Floats, one: Floats, other: Floats) -> Floats:
    """How far points lie from the line through two."""
    along = (other - one) / np.hypot(*(other - one))
    away: Floats = np.abs((dark[:, 0] - one[0]) * along[1] - (dark[:, 1] - one[1]) * along[0])
    return away


def thin_stroke(dark: Floats) -> bool:
    """Whether a little ink (m, 2) is a stroke that was drawn here: longer than a resting pen's dot,
    and not a straight line from rim to rim."""
    middle = dark.mean(axis=0)
    spread, axes = np.linalg.eigh(np.cov((dark - middle).T))
    along = (dark - middle) @ axes[:, 1]
    if float(np.ptp(along)) < THRESHOLDS.stroke_least:
        return False
    ends = dark[[int(along.argmin()), int(along.argmax())]]
    at_rim = bool((np.hypot(ends[:, 0], ends[:, 1]) >= THRESHOLDS.rim_from).all())
    straight = float(np.sqrt(max(spread[0], 0.0))) <= THRESHOLDS.bend_least
    return not (at_rim and straight)
