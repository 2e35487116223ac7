"""What cameras, scanners and pub tables do to a card, with one seed for all of it.

Lengths are millimetres of the card, blur and noise pixels and grey values at 200 dpi.
"""

from dataclasses import dataclass
from io import BytesIO
from itertools import chain

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray
from PIL import Image, ImageFilter
from scipy.ndimage import gaussian_filter

from tests.scanning.corpus.cards import PER_MM, SOFT, Picture

Field = NDArray[np.float32]
CAMERA = 380.0
"""Millimetres from the card to the camera."""

CELL = 32
"""Pixels of the mesh by which bent paper is drawn."""


@dataclass(frozen=True, kw_only=True)
class Damage:
    """How much of everything; the defaults are a perfect scan at 200 dpi."""

    dpi: float = 200.0
    turn: float = 0.0  # degrees
    tilt: float = 0.0  # degrees out of the plane, about any line in it
    margin: float = 6.0  # of the table around the card
    table: tuple[int, int] = (90, 170)
    wave: float = 0.0  # amplitude of bent paper
    crease: float = 0.0  # darkness of a sharp fold
    blur: float = 0.0
    noise: float = 0.0
    jpeg: int | None = None
    gamma: float = 1.0
    contrast: float = 1.0
    gradient: float = 0.0
    shadow: float = 0.0
    glare: float = 0.0
    stain: float = 0.0
    through: float = 0.0  # the other side of the paper shows
    moire: float = 0.0
    lost_corner: int = 0  # 1 upper left, 2 lower left, 3 lower right
    two_tone: int | None = None  # the grey that parts black from white


def damaged(picture: Picture, rng: Generator, how: Damage) -> Picture:
    """A picture (PER_MM pixels to a millimetre, softened by SOFT) as it might arrive."""
    source = Image.fromarray(picture)
    if how.through:
        other = source.transpose(Image.Transpose.FLIP_LEFT_RIGHT).filter(
            ImageFilter.GaussianBlur(3)
        )
        source = Image.blend(source, other, how.through)
    needed = 0.35 * PER_MM / (how.dpi / 25.4)
    if needed > 1.1 * SOFT:
        source = source.filter(ImageFilter.GaussianBlur((needed**2 - SOFT**2) ** 0.5))
    grey = _lit(_seen(source, rng, how), rng, how)
    if how.blur:
        grey = gaussian_filter(grey, how.blur * how.dpi / 200, truncate=3, mode="nearest")
    if how.noise:
        grey = grey + np.float32(how.noise) * _noise(rng, grey.shape)
    if how.two_tone is not None:
        grey = np.where(grey < how.two_tone, np.float32(0), np.float32(255))
    final = np.clip(grey, 0, 255).astype(np.uint8)
    if how.lost_corner:
        final = _without_corner(final, rng, how.lost_corner)
    return final if how.jpeg is None else _compressed(final, how.jpeg)


def _compressed(picture: Picture, quality: int) -> Picture:
    held = BytesIO()
    Image.fromarray(picture).save(held, "JPEG", quality=quality)
    with Image.open(held) as opened:
        return np.asarray(opened)


# --- geometry -----------------------------------------------------------------------------------


def _seen(source: Image.Image, rng: Generator, how: Damage) -> Field:
    """The card on its table, turned, tilted, bent."""
    width, height = source.width / PER_MM, source.height / PER_MM
    to_view = _view(rng, how, width, height)
    corners = np.array([[0, 0, 1], [width, 0, 1], [width, height, 1], [0, height, 1.0]]) @ to_view.T
    corners = corners[:, :2] / corners[:, 2:]
    low, high = corners.min(axis=0) - how.margin, corners.max(axis=0) + how.margin
    scale = how.dpi / 25.4
    columns, rows = (int(side) for side in (high - low) * scale)
    back = np.linalg.inv(np.diag([scale, scale, 1.0]) @ _moved(-low) @ to_view)
    to_source = np.diag([PER_MM, PER_MM, 1.0]) @ back
    table = int(rng.integers(*how.table))
    if how.wave:
        return _bent(source, rng, how, to_source, (columns, rows), table)
    coefficients = tuple(map(float, (to_source / to_source[2, 2]).ravel()[:8]))
    way = Image.Transform.PERSPECTIVE if how.tilt else Image.Transform.AFFINE
    turned = source.transform(
        (columns, rows),
        way,
        coefficients if how.tilt else coefficients[:6],
        resample=Image.Resampling.BILINEAR,
        fillcolor=table,
    )
    return np.asarray(turned, dtype=np.float32)


def _moved(offset: NDArray[np.float64]) -> NDArray[np.float64]:
    matrix = np.eye(3)
    matrix[:2, 2] = offset
    return matrix


def _view(rng: Generator, how: Damage, width: float, height: float) -> NDArray[np.float64]:
    """From the card's millimetres to a camera's plane, in millimetres at its middle."""
    turn = np.radians(how.turn)
    lean, axis = np.radians(how.tilt), rng.uniform(0, 2 * np.pi)
    spin = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    way = np.array([[np.cos(axis), -np.sin(axis)], [np.sin(axis), np.cos(axis)]])
    tilted = way @ np.diag([np.cos(lean), 1.0]) @ way.T @ spin
    depth = np.sin(lean) / CAMERA * (way.T @ spin)[0]
    matrix = np.eye(3)
    matrix[:2, :2], matrix[2, :2] = tilted, depth
    return matrix @ _moved(np.array([-width / 2, -height / 2]))


def _bent(
    source: Image.Image,
    rng: Generator,
    how: Damage,
    to_source: NDArray[np.float64],
    size: tuple[int, int],
    table: int,
) -> Field:
    """Paper in waves of 25 to 70 mm: drawn as a mesh of small squares, with its shading."""
    columns, rows = size
    x, y = np.meshgrid(
        np.arange(0, columns + CELL, CELL, dtype=float),
        np.arange(0, rows + CELL, CELL, dtype=float),
    )
    scale = how.dpi / 25.4
    shift, shade = np.zeros((2, *x.shape)), np.zeros(x.shape)
    for _ in range(4):
        way, long, phase = rng.uniform(0, 6.3), rng.uniform(25, 70), rng.uniform(0, 6.3)
        push = rng.normal(0, how.wave / 3, 2)
        angle = 2 * np.pi * (x * np.cos(way) + y * np.sin(way)) / scale / long + phase
        shift += push[:, None, None] * np.sin(angle)
        shade += np.cos(angle) / 4
    points = np.stack([x + shift[0] * scale, y + shift[1] * scale, np.ones_like(x)], axis=-1)
    seen = points @ to_source.T
    seen = (seen[..., :2] / seen[..., 2:]).tolist()  # plain numbers once: there are a great many
    mesh = []
    for row in range(x.shape[0] - 1):
        for column in range(x.shape[1] - 1):
            quad = (
                seen[row][column],
                seen[row + 1][column],
                seen[row + 1][column + 1],
                seen[row][column + 1],
            )
            box = (column * CELL, row * CELL, (column + 1) * CELL, (row + 1) * CELL)
            mesh.append((box, tuple(chain.from_iterable(quad))))
    bent = source.transform(
        (columns, rows),
        Image.Transform.MESH,
        mesh,
        resample=Image.Resampling.BILINEAR,
        fillcolor=table,
    )
    return np.asarray(bent, dtype=np.float32) * (1 + 0.10 * _grown(shade, (rows, columns)))


# --- light --------------------------------------------------------------------------------------


def _lit(seen: Field, rng: Generator, how: Damage) -> Field:
    rows, columns = seen.shape
    y, x = np.mgrid[-0.5:0.5:60j, -0.5:0.5:60j]
    light = np.ones_like(x)
    if how.gradient:
        way = rng.uniform(0, 6.3)
        light *= 1 - how.gradient * (0.5 + np.clip(x * np.cos(way) + y * np.sin(way), -0.5, 0.5))
    if how.shadow:
        way, edge = rng.uniform(0, 6.3), rng.uniform(-0.25, 0.25)
        away = x * np.cos(way) + y * np.sin(way) - edge
        light *= 1 - how.shadow / (1 + np.exp(-away * rng.uniform(20, 80)))
    if how.stain:
        light *= _stain(rng, x, y, how.stain)
    grey = seen
    if how.crease:
        grey = _creased(grey, rng, how.crease)
    if (light != 1).any():
        grey = grey * _grown(light, (rows, columns))
    if how.contrast < 1:
        grey = 255 - (255 - grey) * how.contrast - (1 - how.contrast) * 40
    if how.gamma != 1:
        grey = 255 * (np.clip(grey, 0, 255) / 255) ** how.gamma
    if how.glare:
        at, wide = rng.uniform(-0.4, 0.4, 2), rng.uniform(0.05, 0.15)
        spot = how.glare * np.exp(-((x - at[0]) ** 2 + (y - at[1]) ** 2) / (2 * wide**2))
        grey = grey + (255 - grey) * _grown(spot, (rows, columns))
    if how.moire:
        down, across = np.mgrid[0:rows, 0:columns]
        wave = np.sin(across / rng.uniform(2.1, 5)) * np.sin(down / rng.uniform(2.1, 5))
        grey = grey + how.moire * wave
    return grey.astype(np.float32)


def _stain(
    rng: Generator, x: NDArray[np.float64], y: NDArray[np.float64], deep: float
) -> NDArray[np.float64]:
    """The ring of a wet glass, a little darker inside."""
    at, radius = rng.uniform(-0.45, 0.45, 2), rng.uniform(0.12, 0.35)
    away = np.hypot(x - at[0], y - at[1]) / radius
    return 1 - deep * (0.35 * (away < 1) + np.exp(-(((away - 1) / 0.08) ** 2)))


def _creased(grey: Field, rng: Generator, deep: float) -> Field:
    rows, columns = grey.shape
    way, off = rng.uniform(0, np.pi), rng.uniform(-0.3, 0.3) * min(rows, columns)
    y, x = np.ogrid[0:rows, 0:columns]
    away = (x - columns / 2) * np.cos(way) + (y - rows / 2) * np.sin(way) - off
    dark: Field = grey * (1 - deep * np.exp(-((away / 1.6) ** 2))).astype(np.float32)
    return dark


def _grown(field: NDArray[np.float64], shape: tuple[int, int]) -> Field:
    grown = Image.fromarray(field.astype(np.float32)).resize(shape[::-1], Image.Resampling.BILINEAR)
    return np.asarray(grown)


_TILE = np.random.default_rng(3).normal(0, 1, (1400, 1400)).astype(np.float32)


def _noise(rng: Generator, shape: tuple[int, ...]) -> Field:
    """Noise from one tile, begun elsewhere each time: drawing it anew took most of the time."""
    down, across = rng.integers(0, 1400, 2)
    rows = np.arange(down, down + shape[0])
    columns = np.arange(across, across + shape[1])
    return _TILE.take(rows, axis=0, mode="wrap").take(columns, axis=1, mode="wrap")


def _without_corner(picture: Picture, rng: Generator, corner: int) -> Picture:
    """A picture that misses a fifth of the card's corner, or has a thumb there."""
    cut = picture.copy()
    rows, columns = (int(0.20 * side) for side in picture.shape)
    down = slice(0, rows) if corner == 1 else slice(-rows, None)
    across = slice(-columns, None) if corner == 3 else slice(0, columns)
    cut[down, across] = int(rng.integers(60, 200))
    return cut
