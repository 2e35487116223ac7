"""How dark each place is: inside, and around it, against this card's own ink and the local paper.

One look at the picture for all places: points spread evenly inside each, and three rounds of points
outside, where a neat mark leaves the paper white.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from panel.core.paper.card_parts import RING_RADIUS, SQUARE, Place, PlaceKind
from panel.scanning.projective import Floats, Picture, sampled, sampled_around
from panel.scanning.thresholds import THRESHOLDS

INSIDE = 220
INSIDE_SHARE = 0.72
"""Points inside, over this share of the half width: off the outline even if misplaced."""

AROUND = 48
OPPOSITE = 14
"""Points of a round; exits at least this many of them apart (105 degrees) are opposite."""

RING_ROUNDS = (1.30, 1.42, 1.54)
SQUARE_ROUNDS = (1.56, 1.68, 1.80)
"""Radii of the rounds in half widths: outside a ring, outside the corners of a square."""


@dataclass(frozen=True, eq=False)
class Darkness:
    """Measures of every place, each an array (n,).

    `cover`: share of the inside that is dark. `pale`: share that is at least half as dark as that.
    `depth`: darkness of the darker tenth of the inside, 1 is the card's own black. `exits`: at how
    many spots darkness leaves the place; `through`: whether two are opposite. `band`: share of the
    surroundings that is dark.
    """

    cover: Floats
    pale: Floats
    depth: Floats
    exits: NDArray[np.intp]
    through: NDArray[np.bool_]
    band: Floats

    def with_lines_of(self, before: "Darkness") -> "Darkness":
        """These measures, with the lines passing through that were seen before places moved."""
        return replace(
            self,
            exits=np.minimum(self.exits, before.exits),
            through=self.through | before.through,
        )


def _spiral() -> Floats:
    count = np.arange(INSIDE) + 0.5
    radius, angle = INSIDE_SHARE * np.sqrt(count / INSIDE), count * np.pi * (3 - np.sqrt(5))
    return np.stack([radius * np.cos(angle), radius * np.sin(angle)], axis=1)


def _grid() -> Floats:
    """As many points over a square: rows and columns of a lattice that is never in step."""
    count = np.arange(INSIDE) + 0.5
    golden = (np.sqrt(5) - 1) / 2
    points = np.stack([count / INSIDE, (count * golden) % 1.0], axis=1)
    return INSIDE_SHARE * (2 * points - 1)


def _rounds(radii: tuple[float, ...]) -> Floats:
    angles = np.arange(AROUND) * 2 * np.pi / AROUND
    circle = np.stack([np.cos(angles), np.sin(angles)], axis=1)
    return np.vstack([radius * circle for radius in radii])


POINTS = {
    PlaceKind.MARK: RING_RADIUS * np.vstack([_spiral(), _rounds(RING_ROUNDS)]),
    PlaceKind.TAKE_BACK: SQUARE / 2 * np.vstack([_grid(), _rounds(SQUARE_ROUNDS)]),
}
_APART = np.abs(np.arange(AROUND)[:, None] - np.arange(AROUND))
_ACROSS = ((_APART >= OPPOSITE) & (_APART <= AROUND - OPPOSITE)).astype(np.float32)


def contrast_of(picture: Picture, matrix: Floats, code: Floats) -> float:
    """The card's own contrast: how far below the paper its black is, 0 to 1, from its QR code.

    code: the code's corners (4, 2) in millimetres.
    """
    side = code[1, 0] - code[0, 0]
    ends = np.linspace(0.02 * side, 0.98 * side, 44)
    grey = sampled(picture, matrix, np.stack(np.meshgrid(ends, ends), axis=-1) + code[0])
    dark, light = np.percentile(grey, (12, 88))
    return float(1 - dark / max(light, 1.0))


def darkness(
    picture: Picture, matrix: Floats, centres: Floats, places: tuple[Place, ...], contrast: float
) -> Darkness:
    """The measures of the places at these centres (n, 2) in millimetres."""
    grey = np.zeros((len(places), INSIDE + 3 * AROUND), np.float32)
    for kind, points in POINTS.items():
        rows = [index for index, place in enumerate(places) if place.kind is kind]
        if rows:
            grey[rows] = sampled_around(picture, matrix, centres[rows], points)
    around = grey[:, INSIDE:]
    paper = np.maximum(np.percentile(around, 75, axis=1), 1.0)[:, None]
    dark = (1 - grey / paper) / contrast
    inside = dark[:, :INSIDE]
    outside = dark[:, INSIDE:].reshape(len(places), 3, AROUND)
    leaving = (outside[:, :2] > THRESHOLDS.ink_share).all(axis=1)
    trace = (outside[:, :2] > THRESHOLDS.exit_share).all(axis=1)
    across = (trace.astype(np.float32) @ _ACROSS > 0) & trace
    return Darkness(
        cover=(inside > THRESHOLDS.ink_share).mean(axis=1),
        pale=(inside > THRESHOLDS.ink_share / 2).mean(axis=1),
        depth=np.percentile(inside, 90, axis=1),
        exits=(leaving & ~np.roll(leaving, 1, axis=1)).sum(axis=1),
        through=across.any(axis=1),
        band=(outside > THRESHOLDS.ink_share).mean(axis=(1, 2)),
    )
