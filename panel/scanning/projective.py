"""From millimetres on a card to pixels of a picture and back: flat maps, and looking through them.

Points are arrays of shape (…, 2), x before y; pixel centres lie at whole numbers. A map is a 3 × 3
matrix that acts on (x, y, 1).
"""

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import map_coordinates

Picture = NDArray[np.uint8]
"""A page or card in grey: rows × columns, 0 is black."""

Floats = NDArray[np.floating]

FLATNESS = 0.01
"""How strongly a fit resists perspective: four corners of a small code do not determine it."""


def applied(matrix: Floats, points: Floats) -> Floats:
    """The points seen through the map."""
    whole = points @ matrix[:, :2].T
    whole += matrix[:, 2]
    seen: Floats = whole[..., :2]
    seen /= whole[..., 2:]
    return seen


def inverse(matrix: Floats) -> Floats:
    """The map back; numpy.linalg.LinAlgError if there is none."""
    return np.linalg.inv(matrix)


def shifted(matrix: Floats, offset: Floats) -> Floats:
    """The map followed by a shift in its picture."""
    move = np.eye(3)
    move[:2, 2] = offset
    return move @ matrix


def affine(points: Floats, seen: Floats) -> Floats:
    """The best affine map (least squares) from points (n, 2) to where they are seen, n ≥ 3."""
    fitted = np.linalg.lstsq(np.c_[points, np.ones(len(points))], seen, rcond=None)[0]
    return np.vstack([fitted.T, [0.0, 0.0, 1.0]])


def homography(points: Floats, seen: Floats, weights: Floats, flatness: float) -> Floats:
    """The best perspective map (weighted least squares) from points (n, 2) to seen (n, 2).

    flatness: the weight of a prior for no perspective at all; it steadies what few points leave
    open. numpy.linalg.LinAlgError where the points determine nothing.
    """
    middle, centre = points.mean(axis=0), seen.mean(axis=0)
    spread = max(float(np.sqrt(((points - middle) ** 2).sum(axis=1).mean())), 1e-9)
    scale = max(float(np.sqrt(((seen - centre) ** 2).sum(axis=1).mean())), 1e-9)
    u, v = (points - middle) / spread, (seen - centre) / scale
    n = len(points)
    rows = np.zeros((2 * n + 2, 8))
    rows[:n, 0:2], rows[:n, 2], rows[:n, 6:8] = u, 1.0, -u * v[:, :1]
    rows[n : 2 * n, 3:5], rows[n : 2 * n, 5], rows[n : 2 * n, 6:8] = u, 1.0, -u * v[:, 1:]
    wanted = np.r_[v[:, 0], v[:, 1], 0.0, 0.0]
    weight = np.r_[weights, weights, 1.0, 1.0]
    rows[2 * n, 6] = rows[2 * n + 1, 7] = flatness
    rows, wanted = rows * weight[:, None], wanted * weight
    h = np.linalg.solve(rows.T @ rows + 1e-12 * np.eye(8), rows.T @ wanted)
    inner = np.array([[h[0], h[1], h[2]], [h[3], h[4], h[5]], [h[6], h[7], 1.0]])
    before = np.array(
        [[1 / spread, 0, -middle[0] / spread], [0, 1 / spread, -middle[1] / spread], [0, 0, 1]]
    )
    after = np.array([[scale, 0, centre[0]], [0, scale, centre[1]], [0, 0, 1]])
    whole: Floats = after @ inner @ before
    return whole


def sampled(picture: Picture, matrix: Floats, points: Floats) -> NDArray[np.float32]:
    """The picture's grey (linear between pixels, the edge goes on) where the points are seen."""
    seen = applied(matrix, points)
    return _looked_up(picture, seen[..., 0], seen[..., 1])


_STEPS = np.array([(0.0, 0.0), (2.0, 0.0), (-2.0, 0.0), (0.0, 2.0), (0.0, -2.0)])[:, None]


def sampled_around(
    picture: Picture, matrix: Floats, centres: Floats, offsets: Floats
) -> NDArray[np.float32]:
    """The grey at centres (n, 2) + offsets (m, 2), shape (n, m).

    Over the few millimetres of the offsets the map is taken as linear, which saves most of the
    arithmetic.
    """
    middle, right, left, below, above = applied(matrix, centres + _STEPS)
    across, down = (right - left) / 4.0, (below - above) / 4.0
    x, y = (
        (
            middle[:, axis, None]
            + across[:, axis, None] * offsets[:, 0]
            + down[:, axis, None] * offsets[:, 1]
        ).astype(np.float32)
        for axis in (0, 1)
    )
    return _looked_up(picture, x, y)


def _looked_up(picture: Picture, x: Floats, y: Floats) -> NDArray[np.float32]:
    found: NDArray[np.float32] = map_coordinates(
        picture, (y, x), output=np.float32, order=1, mode="nearest"
    )
    return found


def pixels_per_mm(matrix: Floats, at: Floats) -> float:
    """How many pixels a millimetre spans at a point (2,) of the card."""
    step = np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]])
    seen = applied(matrix, at + step)
    (a, b), (c, d) = seen[1] - seen[0], seen[2] - seen[0]
    return float(np.sqrt(abs(a * d - b * c)))
