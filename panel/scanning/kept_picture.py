"""The picture of a card that is kept for whoever looks at it: small, and without the card's code.

The code and the typed characters open the card's ballot, and the database keeps them as hashes
only, so neither may be read from a picture in it.
"""

from io import BytesIO

import numpy as np
from PIL import Image

from panel.core.paper.card_parts import CODE_QUIET, CardLayout
from panel.core.paper.geometry import Box
from panel.scanning.find_codes import legible_codes
from panel.scanning.projective import Floats, Picture, homography
from panel.scanning.reading import CardReading
from panel.scanning.straighten import CROP_PER_MM

MOST_PICTURE_BYTES = 250_000
"""A page of noise would be larger at the first quality; cards take about 50,000."""
QUALITIES = (80, 55, 30)
COVERED = 200
"""The grey over what is not kept."""
MARGIN = 1.5
"""Millimetres beyond the typed address: paper bends."""


def kept_picture(reading: CardReading, layout: CardLayout) -> bytes | None:
    """A grey JPEG of the card, upright; None without a crop or if its code cannot be covered."""
    crop = reading.crop
    if crop is None:
        return None
    covered = np.array(crop)
    _cover(covered, layout.code, CODE_QUIET - 1)
    _cover(covered, layout.ways[0].box, MARGIN)
    shown = legible_codes(covered)
    for code in shown:  # where the card lies otherwise than the map says
        low, high = code.corners.min(axis=0) - 4, code.corners.max(axis=0) + 4
        (left, top), (right, bottom) = low.clip(0).astype(int), high.clip(0).astype(int)
        covered[top:bottom, left:right] = COVERED
    if shown and legible_codes(covered):
        return None
    made = (_jpeg(covered, quality) for quality in QUALITIES)
    return next((data for data in made if len(data) <= MOST_PICTURE_BYTES), None)


def box_map(reading: CardReading, layout: CardLayout) -> Floats | None:
    """From pixels of the page to pixels of the kept picture; None where that is not known."""
    if len(reading.corners) != 4:
        return None
    width, height = layout.stays.width * CROP_PER_MM, layout.stays.height * CROP_PER_MM
    there = np.array([(0, 0), (width, 0), (width, height), (0, height)], dtype=float)
    return homography(np.array(reading.corners), there, np.ones(4), 0.0)


def _cover(picture: Picture, box: Box, margin: float) -> None:
    left, top = (int(max(side - margin, 0) * CROP_PER_MM) for side in (box.x, box.y))
    right, bottom = (int((side + margin) * CROP_PER_MM) for side in (box.right, box.bottom))
    picture[top:bottom, left:right] = COVERED


def _jpeg(picture: Picture, quality: int) -> bytes:
    out = BytesIO()
    Image.fromarray(picture).save(out, "JPEG", quality=quality, optimize=True)
    return out.getvalue()
