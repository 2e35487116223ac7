"""The QR codes of a page: what they hold, where their corners are; retries for bad pictures.

One pass shows the codes that are read and those that are only seen. Only a page on which nothing
is read is tried again whole: smoothed, evened out, enlarged; a code seen but not read is cut out,
straightened and tried by itself. More variants than these found nothing more when measured.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
import zxingcpp
from PIL import Image, ImageFilter

from panel.scanning.projective import Floats, Picture, applied, homography, sampled

QR = zxingcpp.BarcodeFormats([zxingcpp.BarcodeFormat.QRCode])

LEAST_SIDE = 20
"""Pixels: what is smaller cannot hold the 25 modules of a code."""

EVENED_BOX = 15
EVENED_GREY = 170.0
STRAIGHT_SIDE = 260
STRAIGHT_MARGIN = 0.2


@dataclass(frozen=True, eq=False)
class FoundCode:
    """A code's text and its corners in pixels (4, 2), clockwise from its own upper left.

    A decoder reads a mirrored code too, and gives its corners clockwise all the same.
    """

    text: str
    corners: Floats

    @property
    def mirrored(self) -> Floats:
        """Its corners if the page is seen in a mirror."""
        return self.corners[[0, 3, 2, 1]]


def find_codes(picture: Picture) -> tuple[FoundCode, ...]:
    """Every QR code of a page, in reading order from top to bottom; () if none can be read."""
    read, seen = _pass(picture)
    if not read:
        read = next((found for found in map(_read, _variants(picture)) if found), [])
    for corners in seen:
        again = _straightened(picture, corners)
        if again is not None:
            read.append(again)
    return tuple(sorted(_apart(read), key=lambda code: tuple(code.corners.mean(axis=0)[::-1])))


def legible_codes(picture: Picture) -> tuple[FoundCode, ...]:
    """The codes of a straightened picture, as it is and smoothed: without the search for what can
    hardly be read, which on a picture without any code takes as long as reading three cards."""
    smooth = np.asarray(Image.fromarray(picture).filter(ImageFilter.GaussianBlur(0.7)))
    return tuple(_apart([*_pass(picture)[0], *_pass(smooth)[0]]))


def _pass(picture: Picture) -> tuple[list[FoundCode], list[Floats]]:
    """The codes that are read, and the corners of those only seen."""
    read, seen = [], []
    for code in zxingcpp.read_barcodes(picture, formats=QR, try_invert=False, return_errors=True):
        place = code.position
        ends = (place.top_left, place.top_right, place.bottom_right, place.bottom_left)
        corners = np.array([(end.x, end.y) for end in ends], dtype=float)
        if code.valid:
            read.append(FoundCode(code.text, corners))
        elif _size(corners) >= LEAST_SIDE:
            seen.append(corners)
    return read, seen


def _size(corners: Floats) -> float:
    sides = np.diff(np.vstack([corners, corners[:1]]), axis=0)
    return float(np.hypot(sides[:, 0], sides[:, 1]).min())


def _read(variant: tuple[Picture, Callable[[Floats], Floats]]) -> list[FoundCode]:
    picture, back = variant
    return [FoundCode(code.text, back(code.corners)) for code in _pass(picture)[0]]


def _variants(picture: Picture) -> Iterator[tuple[Picture, Callable[[Floats], Floats]]]:
    """The page made easier, one after another, each with the way back for points."""
    page = Image.fromarray(picture)
    soft = page.filter(ImageFilter.GaussianBlur(1.0))
    yield np.asarray(page.filter(ImageFilter.GaussianBlur(0.7))), _same
    yield np.asarray(soft), _same
    yield _evened(page), _same
    if max(page.size) <= 4000:
        twice = soft.resize((2 * page.width, 2 * page.height), Image.Resampling.BICUBIC)
        yield np.asarray(twice), lambda points: (points + 0.5) / 2 - 0.5


def _same(points: Floats) -> Floats:
    return points


def _evened(page: Image.Image) -> Picture:
    """The page with its light evened out, then smoothed: against shadows across a code."""
    soft = page.filter(ImageFilter.GaussianBlur(1.4))
    light = np.asarray(soft.filter(ImageFilter.BoxBlur(EVENED_BOX)), dtype=np.float32)
    even = np.asarray(soft, dtype=np.float32) / np.maximum(light, 1.0) * EVENED_GREY
    return np.clip(even, 0, 255).astype(np.uint8)


def _straightened(picture: Picture, corners: Floats) -> FoundCode | None:
    """A code that was seen but not read: straightened, perhaps smoothed, read again."""
    unit = np.array([[0, 0], [1, 0], [1, 1], [0, 1]], dtype=float)
    try:
        matrix = homography(unit, corners, np.ones(4), 0.0)
    except np.linalg.LinAlgError:
        return None
    ends = np.linspace(-STRAIGHT_MARGIN, 1 + STRAIGHT_MARGIN, STRAIGHT_SIDE)
    straight = sampled(picture, matrix, np.stack(np.meshgrid(ends, ends), axis=-1))
    crop = straight.astype(np.uint8)
    smooth = np.asarray(Image.fromarray(crop).filter(ImageFilter.GaussianBlur(2)))
    for trial in (crop, smooth):
        for code in _pass(trial)[0]:
            span = (1 + 2 * STRAIGHT_MARGIN) / (STRAIGHT_SIDE - 1)
            return FoundCode(code.text, applied(matrix, code.corners * span - STRAIGHT_MARGIN))
    return None


def _apart(codes: list[FoundCode]) -> list[FoundCode]:
    """Without those that were found twice in one place."""
    kept: list[FoundCode] = []
    for code in codes:
        middle = code.corners.mean(axis=0)
        if all(np.hypot(*(middle - other.corners.mean(axis=0))) > LEAST_SIDE / 2 for other in kept):
            kept.append(code)
    return kept
