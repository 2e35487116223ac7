"""The corner marks of a card whose code was found: where they may be, best candidates first.

From the code's four corners only an affine map is drawn out (a homography of so small a square
goes astray at the far end of the card). Where four marks stand close to their foreseen places,
nothing else is searched; else the whole neighbourhood of the card is, in three sizes.
"""

from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
from PIL import Image

from panel.core.paper.card_parts import CODE_SIZE, MARK_RADII, CardLayout
from panel.scanning.correlation import Searched, peak, seen_template, straight_template
from panel.scanning.projective import Floats, Picture, affine, applied, inverse, sampled

COARSE_STEP = 0.5
COARSE_MARGIN = 1.2
NEAR_REACH = 4.0
"""Millimetres: a window around each foreseen place, for scans and straight photographs."""

WIDE_REACH = 3.0
WIDE_SHARE = 0.22
"""Of the wide search: this far, and this share of the distance from the code, from where a mark
is foreseen."""

SCALES = (1.0, 0.86, 1.16)
LIKENESS = 0.50
MOST_PEAKS = 14
BLANKED = CODE_SIZE / 2 + 0.5
"""Half the side, in millimetres, of what is struck out around the code."""


@dataclass(frozen=True, eq=False)
class Ground:
    """The fixed points of a layout in millimetres: the code's corners and the marks' centres, both
    (4, 2) from the upper left clockwise; the corners of the part that is handed in."""

    code: Floats
    marks: Floats
    corners: Floats

    @classmethod
    def of(cls, layout: CardLayout) -> "Ground":
        """The fixed points of a card."""
        code, stays = layout.code, layout.stays
        marks = np.array([(mark.x, mark.y) for mark in layout.marks])
        return cls(
            _corners(code.x, code.y, code.right, code.bottom),
            marks,
            _corners(stays.x, stays.y, stays.right, stays.bottom),
        )


def _corners(left: float, top: float, right: float, bottom: float) -> Floats:
    return np.array([(left, top), (right, top), (right, bottom), (left, bottom)], dtype=float)


@dataclass(frozen=True, eq=False)
class Candidate:
    """Where a corner mark may be, in pixels (2,), and how much it looks like one (0 to 1)."""

    at: Floats
    likeness: float


Candidates = tuple[list[Candidate], ...]
"""For each of the four corners."""


DARK_TONE, LIGHT_TONE = 50, 205


class Page:
    """A page's picture, with the reduced ones that its cards share."""

    def __init__(self, picture: Picture) -> None:
        self.picture = picture
        self._reduced: dict[int, Picture] = {1: picture}

    @cached_property
    def grey_share(self) -> float:
        """The share of pixels that are neither nearly black nor nearly white.

        In grey pictures every edge has some; a scan in two tones has none, and light pencil with
        it.
        """
        few = self.picture[::5, ::3]
        return float(((few > DARK_TONE) & (few < LIGHT_TONE)).mean())

    def reduced(self, factor: int) -> Picture:
        """The picture with squares of `factor` pixels averaged into one."""
        if factor not in self._reduced:
            self._reduced[factor] = np.asarray(Image.fromarray(self.picture).reduce(factor))
        return self._reduced[factor]


@dataclass(frozen=True, eq=False)
class Foreseen:
    """Where a card's marks should be if only its code's corners are known.

    `matrix`: affine map from millimetres; `per_mm`: pixels to a millimetre; `factor`: by how much
    the page may be reduced for a coarse search.
    """

    matrix: Floats
    per_mm: float
    marks: Floats

    @classmethod
    def of(cls, ground: Ground, corners: Floats) -> "Foreseen":
        """The foreseen places by the code's corners (4, 2) in pixels."""
        matrix = affine(ground.code, corners)
        per_mm = float(np.sqrt(abs(np.linalg.det(matrix[:2, :2]))))
        return cls(matrix, per_mm, applied(matrix, ground.marks))

    @property
    def factor(self) -> int:
        """Pixels that may be averaged into one for a coarse search."""
        return max(1, int(self.per_mm * COARSE_STEP))


def in_reduced(points: Floats, factor: int) -> Floats:
    """Pixels of a page as pixels of the reduced one."""
    reduced: Floats = (points + 0.5) / factor - 0.5
    return reduced


@lru_cache(maxsize=4)
def _window(half: int, step: float) -> Floats:
    """The points of a square grid around nothing, in millimetres."""
    ends = np.arange(-half, half + 1) * step
    window: Floats = np.stack(np.meshgrid(ends, ends), axis=-1)
    return window


def near_candidates(page: Page, ground: Ground, foreseen: Foreseen) -> Candidates:
    """The best likeness in a small window around each foreseen place."""
    small = page.reduced(foreseen.factor)
    template = straight_template(COARSE_STEP, COARSE_MARGIN)
    window = _window(len(template) // 2 + round(NEAR_REACH / COARSE_STEP), COARSE_STEP)
    shrink = np.diag([1 / foreseen.factor, 1 / foreseen.factor, 1.0])
    shrink[:2, 2] = 0.5 / foreseen.factor - 0.5
    points = ground.marks[:, None, None, :] + window
    scores = Searched(sampled(small, shrink @ foreseen.matrix, points)).score(template)
    middle = (scores.shape[-1] - 1) / 2
    found = []
    for corner, map_of in enumerate(scores):
        x, y, likeness = peak(map_of)
        at = applied(
            foreseen.matrix, ground.marks[corner] + (np.array([x, y]) - middle) * COARSE_STEP
        )
        found.append([Candidate(at, likeness)] if likeness >= LIKENESS else [])
    return tuple(found)


def wide_candidates(
    page: Page, ground: Ground, foreseen: Foreseen, corners: Floats, scale: float
) -> Candidates:
    """All that looks like a mark where this card's marks can be, for marks of one scale."""
    middle = ground.code.mean(axis=0)
    away = np.hypot(*(ground.marks - middle).T)
    reach = (WIDE_REACH + WIDE_SHARE * away) * foreseen.per_mm
    size = (MARK_RADII[0] + COARSE_MARGIN + 1.0) * foreseen.per_mm * scale
    factor = foreseen.factor
    small = page.reduced(factor)
    low = in_reduced((foreseen.marks - (reach + size)[:, None]).min(axis=0), factor)
    high = in_reduced((foreseen.marks + (reach + size)[:, None]).max(axis=0), factor)
    left, top = np.maximum(np.floor(low), 0).astype(int)
    right, bottom = np.ceil(high).astype(int) + 1
    crop = small[top:bottom, left:right]
    template = seen_template(
        np.linalg.inv(foreseen.matrix[:2, :2]),
        factor,
        MARK_RADII[0] + COARSE_MARGIN,
        scale,
    )
    if min(crop.shape) <= len(template):
        return ([], [], [], [])
    scores = Searched(crop.astype(np.float32)).score(template)
    offset = np.array([left, top]) + len(template) // 2
    middle_of_code = in_reduced(corners.mean(axis=0), factor) - offset
    _blank(scores, middle_of_code, BLANKED * foreseen.per_mm / factor)
    return _peaks(scores, offset, factor, foreseen, reach)


def _blank(scores: Floats, at: Floats, half: float) -> None:
    """Strike out the code itself, whose eyes look like marks."""
    low, high = np.maximum(at - half, 0).astype(int), np.maximum(at + half, 0).astype(int)
    scores[low[1] : high[1], low[0] : high[0]] = -1.0


def _peaks(
    scores: Floats, offset: Floats, factor: int, foreseen: Foreseen, reach: Floats
) -> Candidates:
    found: Candidates = ([], [], [], [])
    apart = max(3, int(3 * foreseen.per_mm / factor))
    for _ in range(MOST_PEAKS):
        x, y, likeness = peak(scores)
        if likeness < LIKENESS:
            break
        at = (np.array([x, y]) + offset + 0.5) * factor - 0.5
        for corner, place in enumerate(foreseen.marks):
            if np.hypot(*(at - place)) < reach[corner]:
                found[corner].append(Candidate(at, likeness))
        row, column = round(y), round(x)
        top, left = max(row - apart, 0), max(column - apart, 0)
        scores[top : row + apart + 1, left : column + apart + 1] = -1
    return found


def merged(one: Candidates, other: Candidates, apart: float) -> Candidates:
    """Both lists, of two that lie nearer than `apart` pixels only the better one."""
    both: Candidates = ([], [], [], [])
    for corner in range(4):
        for candidate in sorted((*one[corner], *other[corner]), key=lambda each: -each.likeness):
            if all(np.hypot(*(candidate.at - kept.at)) >= apart for kept in both[corner]):
                both[corner].append(candidate)
    return both


FINE_STEP = 0.2
FINE_MARGIN = 1.2
FINE_REACH = 1.0


def fine_places(page: Page, matrix: Floats, places: Floats) -> tuple[Floats, Floats]:
    """Marks (n, 2) in pixels to a fraction of one, and their likeness (n,), with a map near it."""
    template = straight_template(FINE_STEP, FINE_MARGIN)
    window = _window(len(template) // 2 + round(FINE_REACH / FINE_STEP), FINE_STEP)
    at = applied(inverse(matrix), places)
    scores = Searched(sampled(page.picture, matrix, at[:, None, None, :] + window)).score(template)
    middle = (scores.shape[-1] - 1) / 2
    peaks = np.array([peak(one) for one in scores])
    return applied(matrix, at + (peaks[:, :2] - middle) * FINE_STEP), peaks[:, 2]
