"""A filled place hides its own outline: then the mark itself says where the place is.

Between far neighbours bent paper can put a filled ring half a millimetre off, so that its ink seems
to spill out of it. The dark patch is laid where it fits the place best, near where it was foreseen;
a line that passes through, or ink all over the place, fits nowhere and stays what it is.
"""

import numpy as np
from numpy.typing import NDArray

from panel.core.paper.card_parts import RING_RADIUS, SQUARE, Place, PlaceKind
from panel.scanning.projective import Floats, Picture, sampled_around
from panel.scanning.thresholds import THRESHOLDS

STEP = 0.25
FARTHEST = 1.25
PER_MM = 0.02
"""Millimetres: the grid, the farthest shift; what a shift loses for each millimetre."""

INSIDE, AROUND = 0.90, (1.20, 1.60)
"""Of the half width: what should be dark, what should be white."""

HALF = {PlaceKind.MARK: RING_RADIUS, PlaceKind.TAKE_BACK: SQUARE / 2}


def _grid(reach: float) -> Floats:
    ends = np.arange(-np.ceil(reach / STEP), np.ceil(reach / STEP) + 1) * STEP
    return np.stack(np.meshgrid(ends, ends), axis=-1).reshape(-1, 2)


SHIFTS = _grid(FARTHEST)
_LOST = PER_MM * np.hypot(SHIFTS[:, 0], SHIFTS[:, 1])
PATCH = {kind: _grid(half * AROUND[1] + FARTHEST) for kind, half in HALF.items()}


def _kernel(kind: PlaceKind) -> NDArray[np.float32]:
    """Patch points × shifts: the mean inside less the mean around, for each shift."""
    off = np.abs(PATCH[kind][:, None] - SHIFTS[None]) / HALF[kind]
    away = np.hypot(off[..., 0], off[..., 1]) if kind is PlaceKind.MARK else off.max(axis=-1)
    inside = (away <= INSIDE).astype(np.float32)
    around = ((away >= AROUND[0]) & (away <= AROUND[1])).astype(np.float32)
    kernel: NDArray[np.float32] = inside / inside.sum(axis=0) - around / around.sum(axis=0)
    return kernel


KERNELS = {kind: _kernel(kind) for kind in HALF}


def recentred(
    picture: Picture,
    matrix: Floats,
    centres: Floats,
    places: tuple[Place, ...],
    rows: NDArray[np.intp],
    contrast: float,
) -> Floats:
    """The centres (n, 2), those of `rows` moved to where their ink fits the place best."""
    moved = centres.copy()
    for kind in HALF:
        mine = np.array([row for row in rows if places[row].kind is kind], dtype=int)
        if len(mine):
            grey = sampled_around(picture, matrix, centres[mine], PATCH[kind])
            paper = np.maximum(np.percentile(grey, 90, axis=1), 1.0)[:, None]
            dark = ((1 - grey / paper) / contrast > THRESHOLDS.ink_share).astype(np.float32)
            moved[mine] += SHIFTS[(dark @ KERNELS[kind] - _LOST).argmax(axis=1)]
    return moved
