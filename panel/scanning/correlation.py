"""Normalised correlation with the corner mark's figure, and its peaks.

The figure is a black disc, a white one in it and a black one in that: round, so one template serves
every corner and every rotation; blurred pictures keep it long after finer figures are gone.
"""

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.fft import irfft2, next_fast_len, rfft2

from panel.core.paper.card_parts import MARK_RADII
from panel.scanning.projective import Floats

FLAT = 6.0
"""Grey values: a patch that varies less than this looks like nothing."""

SUPERSAMPLED = 4


def figure(across: Floats, down: Floats) -> NDArray[np.float64]:
    """The corner mark's ink (1) at millimetres from its centre."""
    away = np.hypot(across, down)
    outer, white, inner = MARK_RADII
    return (((away < outer) & (away > white)) | (away < inner)).astype(float)


def unit(template: Floats) -> NDArray[np.float32]:
    """The template as dark on light, its mean 0 and its norm 1."""
    dark = template.mean() - template
    normed: NDArray[np.float32] = (dark / np.sqrt((dark * dark).sum())).astype(np.float32)
    return normed


@lru_cache(maxsize=8)
def straight_template(step: float, margin: float) -> NDArray[np.float32]:
    """The mark on a grid of `step` mm, with `margin` mm of white around it."""
    side = 2 * round((MARK_RADII[0] + margin) / step) + 1
    fine = side * SUPERSAMPLED
    ends = (np.arange(fine) - (fine - 1) / 2) * step / SUPERSAMPLED
    across, down = np.meshgrid(ends, ends)
    return unit(_averaged(figure(across, down), SUPERSAMPLED))


def seen_template(
    back: Floats, pixel: float, reach: float, scale: float, fine: int = 3
) -> NDArray[np.float32]:
    """The mark as a picture shows it.

    back: (2, 2), pixels to millimetres of the card. pixel: original pixels in one of the picture
    searched. reach: half the template's side in millimetres. scale: how much larger than foreseen.
    """
    per_mm = 1.0 / np.sqrt(abs(np.linalg.det(back)))
    side = 2 * int(np.ceil(reach * per_mm * scale / pixel)) + 1
    ends = (np.arange(fine * side) - (fine * side - 1) / 2) / fine * pixel / scale
    across, down = np.meshgrid(ends, ends)
    x = back[0, 0] * across + back[0, 1] * down
    y = back[1, 0] * across + back[1, 1] * down
    return unit(_averaged(figure(x, y), fine))


def _averaged(values: Floats, by: int) -> Floats:
    side = len(values) // by
    averaged: Floats = values.reshape(side, by, side, by).mean(axis=(1, 3))
    return averaged


class Searched:
    """Pictures (…, rows, columns) prepared once to be searched with templates of any size."""

    def __init__(self, values: Floats) -> None:
        grey = values.astype(np.float32)
        self.grey = grey - grey.mean(axis=(-2, -1), keepdims=True)
        self.shape = grey.shape[-2:]
        self.padded = tuple(next_fast_len(side, real=True) for side in self.shape)
        self.spectrum = rfft2(self.grey, self.padded)
        self.sums = _summed(self.grey)
        self.squares = _summed(self.grey * self.grey)

    def score(self, template: NDArray[np.float32]) -> NDArray[np.float32]:
        """The correlation, -1 to 1, at every place of the template's upper left corner."""
        side = len(template)
        rows, columns = (length - side + 1 for length in self.shape)
        met = irfft2(self.spectrum * np.conj(rfft2(template, self.padded)), self.padded)
        total, square = _window(self.sums, side), _window(self.squares, side)
        spread = square - total * total / (side * side)
        floor = (FLAT * side) ** 2
        found: NDArray[np.float32] = met[..., :rows, :columns] / np.sqrt(np.maximum(spread, floor))
        return found


def _summed(values: NDArray[np.float32]) -> NDArray[np.float64]:
    rows, columns = values.shape[-2:]
    sums = np.zeros((*values.shape[:-2], rows + 1, columns + 1))
    np.cumsum(values, axis=-1, out=sums[..., 1:, 1:])
    np.cumsum(sums[..., 1:, 1:], axis=-2, out=sums[..., 1:, 1:])
    return sums


def _window(sums: NDArray[np.float64], side: int) -> NDArray[np.float64]:
    found: NDArray[np.float64] = (
        sums[..., side:, side:]
        - sums[..., :-side, side:]
        - sums[..., side:, :-side]
        + sums[..., :-side, :-side]
    )
    return found


def peak(scores: Floats) -> tuple[float, float, float]:
    """Column and row of the highest score (a parabola between neighbours), and the score."""
    row, column = divmod(int(scores.argmax()), scores.shape[1])
    across, down = scores[row], scores[:, column]
    return column + _between(across, column), row + _between(down, row), float(scores[row, column])


def _between(line: Floats, at: int) -> float:
    if not 0 < at < len(line) - 1:
        return 0.0
    before, here, after = (float(value) for value in line[at - 1 : at + 2])
    bend = before - 2 * here + after
    return 0.5 * (before - after) / bend if bend < 0 else 0.0
