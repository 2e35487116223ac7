"""How dark each place is: inside, and around it, against this card's own ink and the local paper.

One look at the picture for all places: points spread evenly inside each, and three rounds of points
outside, where a neat mark leaves the paper white.
"""

from dataclasses import dataclass, replace

import numpy as np

from panel.core.paper.card_parts import RING_RADIUS, SQUARE, Place, PlaceKind
from panel.scanning.outlines import Outlines
from panel.scanning.projective import Floats, Picture, sampled, sampled_around
from panel.scanning.strokes import AROUND, Flags, opposite, passing, thin_stroke, wider
from panel.scanning.thresholds import THRESHOLDS

INSIDE = 220
INSIDE_SHARE = 0.72
"""Points inside, over this share of the half width: off the outline even if misplaced."""

RING_ROUNDS = (1.30, 1.42, 1.54)
SQUARE_ROUNDS = (1.56, 1.68, 1.80)
"""Radii of the rounds in half widths: outside a ring, outside the corners of a square."""


PAPER_AROUND, PAPER_INSIDE = 75, 60
CIRCLED = 1.1
"""Percentiles of the surroundings and of the inside. The paper is seen around a place, but where
the inside is so many times as light as that: then somebody has drawn a circle around it."""


@dataclass(frozen=True, eq=False)
class Darkness:
    """Measures of every place, each an array (n,).

    `cover`: share of the inside that is dark. `pale`: share that is at least half as dark as that,
    where the light is as faint as on its outline. `depth`: darkness of the darker tenth of the
    inside, or of the darker half of a smaller mark; 1 is the card's own black. `through`: the
    share of its ink on a straight line that passes through it; `struck`: whether strokes reach far
    out on opposite sides of a place that is full; `leaves`: whether anything leaves the place;
    `drawn`: whether a thin stroke begins or bends inside. `band`: share of the surroundings that is
    dark; `circle`: share of a round around the place where there is a trace of something.
    """

    cover: Floats
    pale: Floats
    depth: Floats
    through: Floats
    struck: Flags
    leaves: Flags
    drawn: Flags
    band: Floats
    circle: Floats

    def with_lines_of(self, before: "Darkness") -> "Darkness":
        """These measures, with the lines that were seen before places moved."""
        return replace(
            self,
            through=np.maximum(self.through, before.through),
            struck=self.struck | before.struck,
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


INSIDE_POINTS = {PlaceKind.MARK: _spiral(), PlaceKind.TAKE_BACK: _grid()}
POINTS = {
    PlaceKind.MARK: RING_RADIUS * np.vstack([_spiral(), _rounds(RING_ROUNDS)]),
    PlaceKind.TAKE_BACK: SQUARE / 2 * np.vstack([_grid(), _rounds(SQUARE_ROUNDS)]),
}


_ENDS = np.linspace(0.02, 0.98, 44)
CODE_POINTS = np.stack(np.meshgrid(_ENDS, _ENDS), axis=-1).reshape(-1, 2)
"""Over the QR code, as shares of its side."""


def contrast_of(picture: Picture, matrix: Floats, code: Floats) -> float:
    """The card's own contrast: how far below the paper its black is, 0 to 1, from its QR code.

    code: the code's corners (4, 2) in millimetres.
    """
    side = code[1, 0] - code[0, 0]
    grey = sampled(picture, matrix, CODE_POINTS * side + code[0]).ravel()
    dark, light = np.sort(grey)[[round(part * (len(grey) - 1)) for part in (0.12, 0.88)]]
    return float(1 - dark / max(light, 1.0))


def darkness(
    picture: Picture,
    matrix: Floats,
    outlines: Outlines,
    places: tuple[Place, ...],
    contrast: float,
) -> Darkness:
    """The measures of the places where their outlines are; contrast: the card's own."""
    dark = _dark(picture, matrix, outlines.centres, places, contrast)
    inside = dark[:, :INSIDE]
    outside = dark[:, INSIDE:].reshape(len(places), len(RING_ROUNDS), AROUND)
    inked = inside > THRESHOLDS.ink_share
    cover = inked.mean(axis=1)
    faint = (
        THRESHOLDS.ink_share
        / 2
        * np.where(outlines.light < BURNT, np.maximum(outlines.light, FAINTEST), 1)
    )
    near: Flags = np.all(outside[:, :2] > THRESHOLDS.exit_share, axis=1)
    far = opposite(np.all(wider(outside > THRESHOLDS.exit_share), axis=1))
    through, struck = np.zeros(len(places)), np.zeros(len(places), bool)
    for row in np.flatnonzero((cover >= THRESHOLDS.empty_below) & opposite(near)):
        ink = _inside_points(places[row])[inked[row]]
        through[row], on_lines = passing(ink, near[row])
        full = cover[row] >= THRESHOLDS.struck_from or on_lines < THRESHOLDS.lines_share
        struck[row] = far[row] and full
    drawn = np.zeros(len(places), bool)
    few = (cover >= THRESHOLDS.empty_below) & (cover <= THRESHOLDS.marked_above)
    for row in np.flatnonzero(few):
        drawn[row] = thin_stroke(_inside_points(places[row])[inked[row]])
    return Darkness(
        cover=cover,
        pale=(inside > faint[:, None]).mean(axis=1),
        depth=_depth(inside, dark[:, INSIDE:], cover),
        through=through,
        struck=struck,
        leaves=np.any(near, axis=1),
        drawn=drawn,
        band=(outside > THRESHOLDS.ink_share).mean(axis=(1, 2)),
        circle=(outside > THRESHOLDS.exit_share).mean(axis=2).max(axis=1),
    )


BURNT, FAINTEST = 0.85, 0.3
"""Darkness of a place's outline against the others: from here on the light has eaten ink, and
beyond this nothing more can be told."""


def _dark(
    picture: Picture, matrix: Floats, centres: Floats, places: tuple[Place, ...], contrast: float
) -> Floats:
    """Darkness at every point of every place: 0 is the paper there, 1 the card's own black."""
    grey = np.zeros((len(places), INSIDE + len(RING_ROUNDS) * AROUND), np.float32)
    for kind, points in POINTS.items():
        rows = [index for index, place in enumerate(places) if place.kind is kind]
        if rows:
            grey[rows] = sampled_around(picture, matrix, centres[rows], points)
    around = _percentile(grey[:, INSIDE:], PAPER_AROUND)
    within = _percentile(grey[:, :INSIDE], PAPER_INSIDE)
    paper = np.where(within > CIRCLED * around, within, around)
    dark: Floats = (1 - grey / np.maximum(paper, 1.0)[:, None]) / contrast
    return dark


def _percentile(values: Floats, which: float) -> Floats:
    """As numpy's, of each row, without the interpolation between neighbours."""
    rank = round(which / 100 * (values.shape[1] - 1))
    found: Floats = np.partition(values, rank, axis=1)[:, rank]
    return found


def _depth(inside: Floats, around: Floats, cover: Floats) -> Floats:
    """The darkness of the darker tenth, or of the darker half of less ink, less what the noise of
    the paper around makes of it."""
    darkest = np.sort(inside, axis=1)[:, ::-1]
    share = np.minimum(DARKER, cover / 2)
    rank = np.maximum(share * INSIDE, 1).astype(int)
    noise = (_percentile(around, 25) - _percentile(around, 5)) / QUARTILE_TO_TWENTIETH
    found: Floats = darkest[np.arange(len(inside)), rank] - TENTH * noise
    return found


DARKER = 0.1
"""Of the inside, whose least darkness is a mark's depth."""

QUARTILE_TO_TWENTIETH, TENTH = 0.971, 1.28
"""Standard deviations of a normal distribution: between its quartile and its twentieth, between its
middle and its tenth (any table of it)."""


def _inside_points(place: Place) -> Floats:
    """In half widths from the place's centre."""
    return INSIDE_POINTS[place.kind]
