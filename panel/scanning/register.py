"""Laying a card's map over a page: from the code's corners over the corner marks to a homography.

The set of three or four marks is taken that looks most like marks and agrees best with the code.
Three marks and a small residual alone do not prove a registration right (a filled ring can stand
in for a mark): the strength of the printed outlines decides later (`outlines`).
"""

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import product

import numpy as np

from panel.scanning.corner_marks import (
    SCALES,
    Candidate,
    Candidates,
    Foreseen,
    Ground,
    Page,
    fine_places,
    merged,
    near_candidates,
    wide_candidates,
)
from panel.scanning.projective import Floats, applied, homography, inverse
from panel.scanning.thresholds import THRESHOLDS

PER_MARK = 0.4
PER_MM_AWAY = 0.012
PER_MM_RESIDUAL = 0.4
"""What a candidate loses for being one more and for each millimetre from its foreseen place, a set
for each millimetre of its worst residual: in units of likeness. So three good marks are better
than the same three and a figure that only looks a little like a mark."""

LOOSE = 0.02
"""Flatness of the fits (`projective.homography`)."""

MARK_WEIGHT = 3.0**0.5
"""A mark's centre counts three corners of the code, which move in wavy paper."""

SURE_LIKENESS, SURE_RESIDUAL = 0.80, 0.45
"""Four near marks as good as this need no search."""

GOOD_LIKENESS, GOOD_RESIDUAL = 0.60, 1.2
MOST_CANDIDATES = 4


@dataclass(frozen=True, eq=False)
class Placement:
    """Where a card lies on a page.

    `matrix`: millimetres of the card to pixels. `marks`: which corner marks were found (0 to 3
    from the upper left clockwise). `residual`: the worst disagreement of marks and code, in mm.
    """

    matrix: Floats
    marks: tuple[int, ...]
    residual: float


@dataclass(frozen=True, eq=False)
class _Choice:
    value: float
    chosen: dict[int, Candidate]
    residual: float

    @property
    def least(self) -> float:
        return min(one.likeness for one in self.chosen.values())


def register(page: Page, ground: Ground, corners: Floats) -> Placement | None:
    """The placement of the card whose code has these corners (4, 2); None with too few marks."""
    foreseen = Foreseen.of(ground, corners)
    near = near_candidates(page, ground, foreseen)
    choice = _best(ground, corners, near, foreseen)
    if not _good(choice, SURE_LIKENESS, SURE_RESIDUAL):
        found = near
        for scale in SCALES:
            wide = wide_candidates(page, ground, foreseen, corners, scale)
            found = merged(found, wide, 3 * foreseen.per_mm)
            choice = _best(ground, corners, found, foreseen)
            if _good(choice, GOOD_LIKENESS, GOOD_RESIDUAL):
                break
    if choice is None:
        return None
    return _settled(page, ground, corners, choice)


def _good(choice: _Choice | None, likeness: float, residual: float) -> bool:
    return (
        choice is not None
        and len(choice.chosen) == 4
        and choice.least >= likeness
        and choice.residual <= residual
    )


def _best(
    ground: Ground, corners: Floats, candidates: Candidates, foreseen: Foreseen
) -> _Choice | None:
    """The set of candidates, one or none a corner, that fits best with a believable tilt."""
    best: _Choice | None = None
    for chosen, likeness in _sets(candidates, foreseen):
        if best is not None and likeness <= best.value:
            continue
        marks = list(chosen)
        places = np.array([one.at for one in chosen.values()])
        try:
            placement = _placement(ground, corners, marks, places, 1.0)
        except np.linalg.LinAlgError:
            continue
        if _tilt(placement.matrix, ground) > THRESHOLDS.tilt_most:
            continue
        value = likeness - PER_MM_RESIDUAL * placement.residual
        if best is None or value > best.value:
            best = _Choice(value, chosen, placement.residual)
    return best


def _sets(
    candidates: Candidates, foreseen: Foreseen
) -> Iterable[tuple[dict[int, Candidate], float]]:
    """Every set of three or four, with its likeness less what it loses by distance."""
    ranked: list[list[tuple[Candidate, float] | None]] = []
    for corner, ones in enumerate(candidates):
        valued = [
            (
                one,
                one.likeness
                - PER_MARK
                - PER_MM_AWAY
                * float(np.hypot(*(one.at - foreseen.marks[corner])))
                / foreseen.per_mm,
            )
            for one in ones
        ]
        best = sorted(valued, key=lambda pair: -pair[1])[:MOST_CANDIDATES]
        ranked.append([*best, None])
    for pick in product(*ranked):
        chosen = {corner: pair[0] for corner, pair in enumerate(pick) if pair is not None}
        if len(chosen) >= THRESHOLDS.corner_marks_least:
            yield chosen, sum(pair[1] for pair in pick if pair is not None)


def _placement(
    ground: Ground, corners: Floats, marks: list[int], places: Floats, weight: float
) -> Placement:
    """The homography through the code's corners and these marks, and its worst residual."""
    points = np.vstack([ground.code, ground.marks[marks]])
    seen = np.vstack([corners, places])
    weights = np.r_[np.ones(4), np.full(len(marks), weight)]
    matrix = homography(points, seen, weights, LOOSE)
    off = applied(inverse(matrix), seen) - points
    return Placement(matrix, tuple(marks), float(np.hypot(off[:, 0], off[:, 1]).max()))


def _tilt(matrix: Floats, ground: Ground) -> float:
    """How much nearer the nearest corner of the card is than the farthest; infinite if absurd."""
    depth = ground.corners @ matrix[2, :2] + matrix[2, 2]
    if depth.min() * depth.max() <= 0:
        return float("inf")
    near, far = sorted((abs(float(depth.min())), abs(float(depth.max()))))
    return far / near


DROP_ABOVE = 0.8
DROP_SHARE = 0.4
DROP_LIKENESS = 0.75


def _settled(page: Page, ground: Ground, corners: Floats, choice: _Choice) -> Placement | None:
    """The placement by the marks' exact centres; one mark is dropped if the rest agree far
    better without it."""
    marks = sorted(choice.chosen)
    coarse = np.array([choice.chosen[corner].at for corner in marks])
    rough = _placement(ground, corners, marks, coarse, 1.0)
    places, likeness = fine_places(page, rough.matrix, coarse)
    settled = _placement(ground, corners, marks, places, MARK_WEIGHT)
    if len(marks) == 4 and settled.residual > DROP_ABOVE:
        without = min(
            (_without(ground, corners, marks, places, index) for index in range(4)),
            key=lambda one: one.residual,
        )
        (dropped,) = set(marks) - set(without.marks)
        if (
            without.residual < DROP_SHARE * settled.residual
            and likeness[marks.index(dropped)] < DROP_LIKENESS
        ):
            settled = without
    return settled if _tilt(settled.matrix, ground) <= THRESHOLDS.tilt_most else None


def _without(
    ground: Ground, corners: Floats, marks: list[int], places: Floats, index: int
) -> Placement:
    kept = [one for one in range(len(marks)) if one != index]
    return _placement(ground, corners, [marks[one] for one in kept], places[kept], MARK_WEIGHT)
