"""A card cut out of its page and straightened, for the person who looks at it."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from PIL import Image

from panel.core.paper.geometry import Box
from panel.scanning.projective import Floats, Picture, applied, shifted

CROP_PER_MM = 5
"""Pixels to a millimetre: a card as a phone screen shows it, handwriting legible."""


@dataclass(frozen=True, eq=False)
class Cutting:
    """The part of a page with a card on it, and the map from the card's millimetres to its pixels.

    It is straightened only when somebody looks: that takes as long as half of the reading.
    """

    part: Picture
    matrix: Floats
    box: Box

    @cached_property
    def straight(self) -> Picture:
        """The card upright, CROP_PER_MM pixels to a millimetre, white beyond the page's edge."""
        out = np.array(
            [[1 / CROP_PER_MM, 0, self.box.x], [0, 1 / CROP_PER_MM, self.box.y], [0, 0, 1.0]]
        )
        # Pillow's pixels have their corners at whole numbers, ours their centres.
        whole = shifted(self.matrix, np.array([0.5, 0.5])) @ out
        coefficients = (whole / whole[2, 2]).ravel()[:8]
        size = (round(self.box.width * CROP_PER_MM), round(self.box.height * CROP_PER_MM))
        cut = Image.fromarray(self.part).transform(
            size,
            Image.Transform.PERSPECTIVE,
            tuple(float(value) for value in coefficients),
            resample=Image.Resampling.BILINEAR,
            fillcolor=255,
        )
        return np.asarray(cut)


def cutting(picture: Picture, matrix: Floats, box: Box) -> Cutting | None:
    """The cutting of a box (millimetres of the card); None if it lies outside the page."""
    corners = np.array(
        [(box.x, box.y), (box.right, box.y), (box.right, box.bottom), (box.x, box.bottom)]
    )
    seen = applied(matrix, corners)
    if not np.isfinite(seen).all():
        return None
    size = np.array(picture.shape[::-1])
    low = np.clip(np.floor(seen.min(axis=0)) - 1, 0, size).astype(int)
    high = np.clip(np.ceil(seen.max(axis=0)) + 2, 0, size).astype(int)
    if (high - low).min() < 2:
        return None
    part = picture[low[1] : high[1], low[0] : high[0]].copy()
    return Cutting(part, shifted(matrix, -low.astype(float)), box)
