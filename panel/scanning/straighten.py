"""A card cut out of its page and straightened, for the person who looks at it."""

import numpy as np
from PIL import Image

from panel.core.paper.geometry import Box
from panel.scanning.corner_marks import Page
from panel.scanning.projective import Floats, Picture, pixels_per_mm

CROP_PER_MM = 5
"""Pixels to a millimetre: a card as a phone screen shows it, handwriting legible."""


def straightened(page: Page, matrix: Floats, box: Box, per_mm: float = CROP_PER_MM) -> Picture:
    """A box of the card (millimetres), upright, at `per_mm` pixels to a millimetre.

    matrix: millimetres of the card to pixels of the page.
    """
    middle = np.array([box.centre.x, box.centre.y])
    factor = max(1, int(pixels_per_mm(matrix, middle) / per_mm))
    shrink = np.array([[1 / factor, 0, 0.5 / factor], [0, 1 / factor, 0.5 / factor], [0, 0, 1.0]])
    out = np.array([[1 / per_mm, 0, box.x], [0, 1 / per_mm, box.y], [0, 0, 1.0]])
    whole = shrink @ matrix @ out
    whole = whole / whole[2, 2]
    size = (max(1, round(box.width * per_mm)), max(1, round(box.height * per_mm)))
    cut = Image.fromarray(page.reduced(factor)).transform(
        size,
        Image.Transform.PERSPECTIVE,
        tuple(float(value) for value in whole.ravel()[:8]),
        resample=Image.Resampling.BILINEAR,
        fillcolor=255,
    )
    return np.asarray(cut)
