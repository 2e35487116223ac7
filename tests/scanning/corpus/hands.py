"""Marks as hands make them: strokes of four pens, drawn over a printed card."""

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.random import Generator
from PIL import Image, ImageDraw, ImageFilter

from panel.core.paper.card_parts import Place
from tests.scanning.corpus.cards import PER_MM, SOFT, Picture

Stroke = tuple[list[tuple[float, float]], float]
"""Points in millimetres from the place's centre, and the stroke's width in millimetres."""

FINE = 2
REACH = 3.4
"""Of the patch drawn on: this many half widths, at least 8 mm, from the centre."""


class Hand(StrEnum):
    """What somebody did to a place."""

    FILL = "fill"
    LIGHT = "light"
    OVERFILL = "overfill"
    OFF = "off"  # filled, but a third of a radius beside the middle
    PARTIAL = "partial"  # half filled
    TICK = "tick"
    CROSS = "cross"
    LINE = "line"  # 1 mm thick, across the middle
    BLOB = "blob"  # a round dot over half of the place
    # not meant, or no longer
    ERASED = "erased"
    SPECK = "speck"  # at most 0.5 mm
    DOT = "dot"  # where a pen rested: 0.7 to 1.2 mm
    STRAY = "stray"  # a line passing through
    CROSSED_OUT = "crossed out"  # filled, then struck through twice
    # meant otherwise than the card says
    CIRCLED = "circled"


MEANT = frozenset(
    {
        Hand.FILL, Hand.LIGHT, Hand.OVERFILL, Hand.OFF, Hand.PARTIAL, Hand.TICK, Hand.CROSS,
        Hand.LINE, Hand.BLOB,
    }
)  # fmt: skip
"""Marks that may never be read as empty."""

NOT_MEANT = frozenset({Hand.ERASED, Hand.SPECK, Hand.DOT, Hand.STRAY, Hand.CROSSED_OUT})
"""Traces that may never be read as marked."""

NEITHER = frozenset({Hand.CIRCLED})
"""Ink that says something, though not as the card asks for: neither empty nor marked."""


@dataclass(frozen=True)
class Pen:
    """Greys and widths (mm) that a pen leaves; pencil has grain."""

    name: str
    greys: tuple[float, float]
    widths: tuple[float, float]
    grain: bool = False


PENS = (
    Pen("pencil", (85, 135), (0.5, 0.8), True),
    Pen("blue", (60, 105), (0.4, 0.7)),
    Pen("black", (20, 60), (0.4, 0.7)),
    Pen("felt", (15, 45), (0.9, 1.3)),
)


def draw(picture: Picture, rng: Generator, place: Place, hand: Hand, pen: Pen) -> None:
    """Draw the mark over the picture (PER_MM pixels to a millimetre), in place."""
    size = place.radius
    reach = max(REACH * size, 8.0)
    left, top = round((place.centre.x - reach) * PER_MM), round((place.centre.y - reach) * PER_MM)
    side = round(2 * reach * PER_MM)
    box = (max(left, 0), max(top, 0), min(left + side, picture.shape[1]), top + side)
    middle = ((place.centre.x * PER_MM - left) * FINE, (place.centre.y * PER_MM - top) * FINE)
    grey = rng.uniform(*pen.greys)
    sheet = Image.new("L", (side * FINE, side * FINE), 0)
    pencil = ImageDraw.Draw(sheet)
    for points, width in HANDS[hand](rng, size, rng.uniform(*pen.widths)):
        at = [(middle[0] + x * PER_MM * FINE, middle[1] + y * PER_MM * FINE) for x, y in points]
        thick = max(1, round(width * PER_MM * FINE))
        if len(at) > 1:
            pencil.line(at, fill=255, width=thick, joint="curve")
        for x, y in (at[0], at[-1]):
            half = thick / 2
            pencil.ellipse((x - half, y - half, x + half, y + half), fill=255)
    small = sheet.reduce(FINE).filter(ImageFilter.GaussianBlur(SOFT))
    ink = np.asarray(small, dtype=np.float32) / 255
    if pen.grain or hand is Hand.ERASED:
        ink = ink * _grain(rng, side)
    if hand is Hand.LIGHT:
        grey = rng.uniform(120, 150)
    if hand is Hand.ERASED:
        soft = Image.fromarray((ink * 255).astype(np.uint8))
        soft = soft.filter(ImageFilter.GaussianBlur(0.25 * PER_MM))
        ink = np.asarray(soft, dtype=np.float32) / 255 * rng.uniform(0.10, 0.50)
        grey = rng.uniform(85, 135)
    part = picture[box[1] : box[3], box[0] : box[2]]
    over = ink[box[1] - top : box[1] - top + part.shape[0], box[0] - left :][:, : part.shape[1]]
    np.minimum(part, (255 - over * (255 - grey)).astype(np.uint8), out=part)


def _grain(rng: Generator, side: int) -> Picture:
    """Paper's tooth under graphite."""
    coarse = rng.normal(0.85, 0.22, (side // 3 + 1, side // 3 + 1)).astype(np.float32)
    grown = np.repeat(np.repeat(coarse, 3, axis=0), 3, axis=1)[:side, :side]
    return np.clip(grown, 0.35, 1.0)


# --- strokes ------------------------------------------------------------------------------------


def _hatched(rng: Generator, radius: float, width: float) -> list[Stroke]:
    """A disc filled by going to and fro, not quite in the middle, with gaps."""
    angle = rng.uniform(0, np.pi)
    along, across = (
        np.array([np.cos(angle), np.sin(angle)]),
        np.array([-np.sin(angle), np.cos(angle)]),
    )
    off = rng.normal(0, 0.07 * radius, 2)
    pitch = width * rng.uniform(0.75, 1.25)
    points = []
    for turn, down in enumerate(np.arange(-radius + width / 2, radius, pitch)):
        half = np.sqrt(max(radius**2 - down**2, 0)) * rng.uniform(0.85, 1.0)
        for side in (1, -1) if turn % 2 else (-1, 1):
            x, y = off + across * down + along * half * side
            points.append((float(x), float(y)))
    return [(points, width)] if len(points) > 1 else [([(0.0, 0.0)], 2 * radius)]


def _fill(rng: Generator, size: float, width: float) -> list[Stroke]:
    return _hatched(rng, size * rng.uniform(0.78, 1.02), min(width, size))


def _overfill(rng: Generator, size: float, width: float) -> list[Stroke]:
    return _hatched(rng, size * rng.uniform(1.05, 1.25), width)


def _off(rng: Generator, size: float, width: float) -> list[Stroke]:
    angle, away = rng.uniform(0, 2 * np.pi), rng.uniform(0.2, 0.35) * size
    x, y = float(away * np.cos(angle)), float(away * np.sin(angle))
    strokes = _hatched(rng, size * rng.uniform(0.75, 0.95), min(width, size))
    return [([(across + x, down + y) for across, down in points], w) for points, w in strokes]


def _partial(rng: Generator, size: float, width: float) -> list[Stroke]:
    return _hatched(rng, size * rng.uniform(0.6, 0.75), min(width, size))


def _crossed_out(rng: Generator, size: float, width: float) -> list[Stroke]:
    """Filled, then two strokes through it that reach well beyond."""
    return [*_fill(rng, size, width), *_struck(rng, size, width)]


def _struck(rng: Generator, size: float, width: float) -> list[Stroke]:
    turn = rng.uniform(0.5, 1.1)
    strokes: list[Stroke] = []
    for angle in (turn, -turn):
        long = size * rng.uniform(1.7, 2.1)
        x, y = rng.normal(0, 0.1 * size, 2)
        across, down = long * np.cos(angle), long * np.sin(angle)
        ends = [(float(x - across), float(y - down)), (float(x + across), float(y + down))]
        strokes.append((ends, width))
    return strokes


def _tick(rng: Generator, size: float, width: float) -> list[Stroke]:
    bend = rng.normal(0, 0.12, (3, 2))
    long = rng.uniform(0.9, 1.5)
    points = np.array([(-0.6, 0.0), (-0.1, 0.6), (0.7 * long, -0.9 * long)]) + bend
    return [([tuple(map(float, point)) for point in points * size], width)]


def _cross(rng: Generator, size: float, width: float) -> list[Stroke]:
    long = rng.uniform(0.6, 1.1)
    ends = np.array([(-long, -long), (long, long), (long, -long), (-long, long)])
    ends = (ends + rng.normal(0, 0.12, (4, 2))) * size
    one, two, three, four = (tuple(map(float, end)) for end in ends)
    return [([one, two], width), ([three, four], width)]


def _line(rng: Generator, size: float, _width: float) -> list[Stroke]:
    angle = rng.uniform(0, np.pi)
    x, y = size * 0.9 * np.cos(angle), size * 0.9 * np.sin(angle)
    return [([(-x, -y), (x, y)], 1.0)]


def _round(least: float, most: float) -> Callable[[Generator, float, float], list[Stroke]]:
    def strokes(rng: Generator, size: float, _width: float) -> list[Stroke]:
        x, y = rng.normal(0, 0.15 * size, 2)
        return [([(float(x), float(y))], rng.uniform(least, most))]

    return strokes


def _blob(rng: Generator, size: float, _width: float) -> list[Stroke]:
    """A dot over half to four fifths of the place's area."""
    x, y = rng.normal(0, 0.05 * size, 2)
    return [([(float(x), float(y))], 2 * size * rng.uniform(0.71, 0.9))]


def _stray(rng: Generator, size: float, width: float) -> list[Stroke]:
    angle, off = rng.uniform(0, np.pi), rng.uniform(-0.8, 0.8) * size
    along, across = (
        np.array([np.cos(angle), np.sin(angle)]),
        np.array([-np.sin(angle), np.cos(angle)]),
    )
    one, two = off * across - 2.6 * size * along, off * across + 2.6 * size * along
    return [([tuple(map(float, one)), tuple(map(float, two))], width)]


def _erased(rng: Generator, size: float, width: float) -> list[Stroke]:
    return _fill(rng, size, width) if rng.random() < 0.7 else _tick(rng, size, width)


def _circled(rng: Generator, size: float, width: float) -> list[Stroke]:
    radius = size * rng.uniform(1.25, 1.55)
    angles = np.linspace(0, 2.1 * np.pi, 40) + rng.uniform(0, 6)
    wobble = 1 + 0.05 * np.sin(3 * angles)
    points = [
        (float(radius * w * np.cos(a)), float(radius * w * np.sin(a)))
        for a, w in zip(angles, wobble, strict=True)
    ]
    return [(points, width)]


HANDS: dict[Hand, Callable[[Generator, float, float], list[Stroke]]] = {
    Hand.FILL: _fill,
    Hand.LIGHT: _fill,
    Hand.OVERFILL: _overfill,
    Hand.OFF: _off,
    Hand.PARTIAL: _partial,
    Hand.TICK: _tick,
    Hand.CROSS: _cross,
    Hand.LINE: _line,
    Hand.BLOB: _blob,
    Hand.ERASED: _erased,
    Hand.SPECK: _round(0.2, 0.5),
    Hand.DOT: _round(0.7, 1.2),
    Hand.STRAY: _stray,
    Hand.CROSSED_OUT: _crossed_out,
    Hand.CIRCLED: _circled,
}
