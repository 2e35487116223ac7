"""Every place moved onto its own printed outline, all at once, and how strong each outline is.

Paper bends: between the corner marks a place can lie a millimetre off. Profiles across a place's
outline show where its thin line is; one matrix product gives the response to every shift. The
responses of neighbours are pooled, since they move together, so a place whose own outline is
covered by ink is carried by those around it.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from panel.core.paper.card_parts import RING_LINE, RING_RADIUS, SQUARE, Place, PlaceKind
from panel.scanning.projective import Floats, Picture, sampled_around
from panel.scanning.thresholds import THRESHOLDS

PROFILES = 40
"""Across each outline: around a ring, ten to each side of a square."""

CLIP = 0.25
"""Response of a line, as a share of the card's ink, beyond which more ink counts no more."""

SHARPNESS = 3
"""Power to which responses are raised before pooling: the outline's peak, not its foot."""


@dataclass(frozen=True, eq=False)
class _Shape:
    """Points on an outline (PROFILES, 2) and their outward normals, millimetres from its centre."""

    points: Floats
    normals: Floats


def _ring() -> _Shape:
    angles = np.arange(PROFILES) * 2 * np.pi / PROFILES
    normals = np.stack([np.cos(angles), np.sin(angles)], axis=1)
    return _Shape(RING_RADIUS * normals, normals)


def _square() -> _Shape:
    along = (np.arange(PROFILES // 4) - (PROFILES // 4 - 1) / 2) * SQUARE / (PROFILES // 4 + 2)
    points, normals = [], []
    for turn in range(4):
        normal = np.array([(1, 0), (0, 1), (-1, 0), (0, -1)][turn], dtype=float)
        side = np.array([-normal[1], normal[0]])
        points.append(normal * SQUARE / 2 + along[:, None] * side)
        normals.append(np.tile(normal, (len(along), 1)))
    return _Shape(np.vstack(points), np.vstack(normals))


SHAPES = {PlaceKind.MARK: _ring(), PlaceKind.TAKE_BACK: _square()}


class _Search:
    """A search for shifts up to `half` in steps of `step`, along profiles with steps of `fine`
    (millimetres). `arm`: profile steps from a line's middle to the paper beside it."""

    def __init__(self, half: float, step: float, fine: float, arm: int) -> None:
        self.step, self.arm = step, arm
        ends = np.arange(-half, half + 1e-9, step)
        self.side = len(ends)
        across, down = np.meshgrid(ends, ends)
        self.shifts = np.stack([across.ravel(), down.ravel()], axis=1)
        self.along = np.arange(-half - 0.2, half + 0.2 + 1e-9, fine)
        self.offsets = {
            kind: (shape.points[:, None] + self.along[:, None] * shape.normals[:, None]).reshape(
                -1, 2
            )
            for kind, shape in SHAPES.items()
        }
        self.kernels = {kind: self._kernel(shape, fine) for kind, shape in SHAPES.items()}

    def _kernel(self, shape: _Shape, fine: float) -> NDArray[np.float32]:
        """Profile samples × shifts: where along each profile the outline lies after a shift."""
        at = (self.shifts @ shape.normals.T - self.along[0]) / fine
        below = np.clip(np.floor(at).astype(int), 0, len(self.along) - 2)
        share = np.clip(at - below, 0, 1)
        kernel = np.zeros((len(self.shifts), PROFILES, len(self.along)), np.float32)
        shift, profile = np.arange(len(self.shifts))[:, None], np.arange(PROFILES)[None]
        kernel[shift, profile, below] += 1 - share
        kernel[shift, profile, below + 1] += share
        return np.ascontiguousarray(kernel.reshape(len(self.shifts), -1).T)


WIDE = _Search(half=2.1, step=0.30, fine=0.15, arm=2)
NEAR = _Search(half=0.9, step=0.15, fine=0.10, arm=3)
WIDE_TOGETHER, NEAR_TOGETHER = 14.0, 7.0
"""Millimetres over which places move together, in the first and the second search."""

FAR_SHARE = 0.02
INKED_SHARE = 0.02
"""What places three times as far away, and places full of ink, say besides."""

INKED_FROM = 0.35
"""Share of a place's inner rim from which it counts as full of ink."""

ENDS = 4
"""Steps at either end of a profile that show the paper beside a line."""

WIDE_ABOVE = 0.45
"""Residual in millimetres above which the first search is made."""


@dataclass(frozen=True, eq=False)
class Outlines:
    """Where places really are, and how well that is borne out.

    `centres`: (n, 2) millimetres. `pooled`, `own`: how many standard deviations the peak of a place
    with its neighbours, and by itself, stands above all other shifts. `apart`: millimetres from
    the place's own peak to that of its neighbours without it.
    `line`: how dark its own outline is, as a share of the card's ink, clipped. `tone`: how dark
    the printed rings are, were they seen sharp: by the darkness along them, whatever the blur, in
    the middle of those without ink. `light`: the same of each place as a share of its kind's, 1
    where it has ink: less than 1 where the picture is burnt out.
    """

    centres: Floats
    pooled: Floats
    own: Floats
    apart: Floats
    line: Floats
    light: Floats
    tone: float


def refined(
    picture: Picture, matrix: Floats, places: tuple[Place, ...], ink: float, residual: float
) -> Outlines:
    """The places moved onto their outlines. ink: the card's contrast (`darkness.contrast_of`).
    residual: the placement's, in millimetres."""
    centres = np.array([(place.centre.x, place.centre.y) for place in places])
    kinds = [place.kind for place in places]
    at = centres
    if residual > WIDE_ABOVE:
        at = _moved(picture, matrix, at, kinds, ink, WIDE, WIDE_TOGETHER).centres
    return _moved(picture, matrix, at, kinds, ink, NEAR, NEAR_TOGETHER)


def _moved(
    picture: Picture,
    matrix: Floats,
    centres: Floats,
    kinds: list[PlaceKind],
    ink: float,
    search: _Search,
    together: float,
) -> Outlines:
    response = np.zeros((len(centres), len(search.shifts)), np.float32)
    inked, light = np.zeros(len(centres), bool), np.ones(len(centres))
    card_tone = 0.0
    for kind in SHAPES:
        rows = np.array([index for index, one in enumerate(kinds) if one is kind], dtype=int)
        if len(rows):
            grey = sampled_around(picture, matrix, centres[rows], search.offsets[kind])
            profile = grey.reshape(len(rows), PROFILES, len(search.along))
            response[rows], inked[rows] = _responses(profile, kind, ink, search)
            white = ~inked[rows]
            tone = _tone(profile, ink, search)
            middle = float(np.median(tone[white])) if white.any() else 0.0
            light[rows] = np.where(white, tone / max(middle, 1e-3), 1.0)
            if kind is PlaceKind.MARK:
                card_tone = middle
    line = response.max(axis=1) / PROFILES
    response /= np.maximum(response.max(axis=1, keepdims=True), 0.02 * PROFILES)
    own = response**SHARPNESS
    weight = _weights(centres, inked, together)
    shift, strength = _peak(weight @ own, search)
    own_shift, own_strength = _peak(own, search)
    np.fill_diagonal(weight, 0.0)
    others, _ = _peak(weight @ own, search)
    off = own_shift - others
    apart = np.hypot(off[:, 0], off[:, 1])
    return Outlines(centres + shift, strength, own_strength, apart, line, light, card_tone)


def _tone(profile: NDArray[np.float32], ink: float, search: _Search) -> Floats:
    """How dark each place's line is in the middle of its profiles: all that lacks from the paper
    at both ends, over the width that was printed."""
    paper = (profile[:, :, :ENDS].mean(axis=2) + profile[:, :, -ENDS:].mean(axis=2)) / 2
    step = float(search.along[1] - search.along[0])
    lacks = (paper - profile.mean(axis=2)) * profile.shape[2] * step
    tone: Floats = np.median(lacks / np.maximum(paper * ink, 1.0), axis=1) / RING_LINE
    return tone


def _weights(centres: Floats, inked: NDArray[np.bool_], together: float) -> NDArray[np.float32]:
    """How much each place (column) says of each (row): near ones, a little the far ones, hardly
    those whose outline is covered by ink."""
    away = ((centres[:, None] - centres[None]) ** 2).sum(axis=-1)
    near, far = (np.exp(-away / (2 * reach * reach)) for reach in (together, 3 * together))
    weight = (near + FAR_SHARE * far) * np.where(inked, INKED_SHARE, 1.0) + 1e-9
    shares: NDArray[np.float32] = (weight / weight.sum(axis=1, keepdims=True)).astype(np.float32)
    return shares


def _peak(values: Floats, search: _Search) -> tuple[Floats, Floats]:
    """Each row's best shift, and by how many standard deviations it is the best."""
    best = values.argmax(axis=1)
    height = values[np.arange(len(values)), best]
    strength = (height - values.mean(axis=1)) / (values.std(axis=1) + 1e-6)
    return _at_peak(values, best, search), strength


def _responses(
    profile: NDArray[np.float32], kind: PlaceKind, ink: float, search: _Search
) -> tuple[NDArray[np.float32], NDArray[np.bool_]]:
    """From the profiles (n, PROFILES, steps) of places of one kind, how much line lies under the
    outline at every shift; and whether the places look filled."""
    arm = search.arm
    line = np.zeros_like(profile)
    beside = np.minimum(profile[:, :, : -2 * arm], profile[:, :, 2 * arm :])
    line[:, :, arm:-arm] = beside - profile[:, :, arm:-arm]
    outer = profile[:, ::2, -6:].reshape(len(profile), -1)
    rank = round(0.75 * (outer.shape[1] - 1))
    paper = np.partition(outer, rank, axis=1)[:, rank, None, None]
    black = np.maximum(paper * ink, 1.0)
    clipped = np.clip(line / black, 0, CLIP).astype(np.float32)
    found: NDArray[np.float32] = clipped.reshape(len(profile), -1) @ search.kernels[kind]
    inner = (paper - profile[:, :, :7]) / black > THRESHOLDS.ink_share
    return found, inner.mean(axis=(1, 2)) > INKED_FROM


def _at_peak(pooled: Floats, best: NDArray[np.intp], search: _Search) -> Floats:
    """The shift of each place's peak, to a fraction of a step."""
    side = search.side
    maps = pooled.reshape(-1, side, side)
    rows = np.arange(len(maps))
    row, column = best // side, best % side
    y, x = np.clip(row, 1, side - 2), np.clip(column, 1, side - 2)
    across = _parabola(maps[rows, y, x - 1], maps[rows, y, x], maps[rows, y, x + 1])
    down = _parabola(maps[rows, y - 1, x], maps[rows, y, x], maps[rows, y + 1, x])
    shift = np.stack(
        [column + np.where(x == column, across, 0), row + np.where(y == row, down, 0)], axis=1
    )
    moved: Floats = (shift - side // 2) * search.step
    return moved


def _parabola(before: Floats, here: Floats, after: Floats) -> Floats:
    bend = before - 2 * here + after
    safe = np.where(bend < -1e-9, bend, -1.0)
    part: Floats = np.where(bend < -1e-9, np.clip(0.5 * (before - after) / safe, -0.5, 0.5), 0.0)
    return part
