"""The seal's figure: a rosette drawn from a SHA-256, so that a room can compare two seals at sight.

Three woven bands around a star. What the eye counts first comes from the digest's first bytes:
how many lobes each band has, how many strands weave it, how deep it swings, which way it is
turned. The same digest gives the same figure at any size; the lines keep a width that prints.
Figures can agree by chance where digests differ: the digits under it decide, the figure invites.
"""

from dataclasses import dataclass
from math import cos, pi, sin

from panel.core.drawing import Circle, Group, Ink, Path, Shape, Step

STEPS_PER_SWING = 6
"""Curve pieces for each swing of a strand: less than 0.3 % of the radius off the true curve."""


@dataclass(frozen=True)
class Band:
    """A woven band: radii are shares of the figure's, `phase` is in swings (0 to 1)."""

    radius: float
    swing: float
    lobes: int
    strands: int
    second: float  # share of the swing that comes twice as fast: makes lobes pointed or flat
    phase: float


def rosette(digest: bytes, size: float, ink: Ink = Ink.WAX) -> Group:
    """The figure of a SHA-256 digest (32 bytes), `size` millimetres across, about the origin.

    Raises ValueError for anything but 32 bytes.
    """
    if len(digest) != 32:
        raise ValueError("a SHA-256 digest has 32 bytes")
    radius = size / 2
    line = max(0.15, 0.0065 * size)
    shapes: list[Shape] = []
    for band in bands(digest):
        for strand in range(band.strands):
            turn = 2 * pi * strand / (band.strands * band.lobes)
            steps = _strand(band, radius - line / 2, turn)
            shapes.append(Path(steps=steps, closed=True, stroke=ink, width=line))
    shapes.append(Circle(x=0, y=0, radius=0.055 * radius, stroke=None, fill=ink))
    return Group(shapes=tuple(shapes))


def bands(digest: bytes) -> tuple[Band, ...]:
    """What the digest says of each band, from the outermost inwards."""
    return tuple(
        Band(
            radius=middle,
            swing=reach * (0.55 + 0.45 * part[2] / 255),
            lobes=fewest + part[0] % span,
            strands=2 + part[1] % 2,
            second=(part[3] / 255 - 0.5) * 0.6,
            phase=part[4] / 256,
        )
        for part, (middle, reach, fewest, span) in zip(
            (digest[:8], digest[8:16], digest[16:24]),
            ((0.85, 0.15, 8, 11), (0.56, 0.18, 5, 9), (0.25, 0.13, 3, 6)),
            strict=True,
        )
    )


def _strand(band: Band, size: float, turn: float) -> tuple[Step, ...]:
    """One strand once around, as cubic pieces that share the true curve's ends and tangents."""
    count = STEPS_PER_SWING * band.lobes
    step = 2 * pi / count
    steps: list[Step] = []
    before = _place(band, size, turn, 0.0)
    steps.append(before[:2])
    for number in range(1, count + 1):
        after = _place(band, size, turn, number * step)
        steps.append(
            (
                before[0] + before[2] * step / 3,
                before[1] + before[3] * step / 3,
                after[0] - after[2] * step / 3,
                after[1] - after[3] * step / 3,
                after[0],
                after[1],
            )
        )
        before = after
    return tuple(steps)


def _place(band: Band, size: float, turn: float, t: float) -> tuple[float, float, float, float]:
    """Where a strand is at angle t, and its derivative by t: (x, y, dx, dy)."""
    first, second = (1 - abs(band.second)), band.second
    angle = band.lobes * t + 2 * pi * band.phase
    swing = band.swing * size
    away = band.radius * size + swing * (first * cos(angle) + second * cos(2 * angle))
    slope = -swing * band.lobes * (first * sin(angle) + 2 * second * sin(2 * angle))
    across, down = cos(t + turn), sin(t + turn)
    return (
        away * across,
        away * down,
        slope * across - away * down,
        slope * down + away * across,
    )
