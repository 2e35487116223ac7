"""The seal's figure: the same for the same seal, another for another, inside its size."""

from hashlib import sha256
from math import cos, dist, hypot, pi, sin

import pytest
from hypothesis import given
from hypothesis import strategies as st

from panel.core.drawing import Circle, Ink, Path
from panel.core.rosette import Band, bands, rosette

DIGEST = sha256(b"an invented seal").digest()
digests = st.binary(min_size=32, max_size=32)


def curves(digest: bytes, size: float) -> list[Path]:
    return [shape for shape in rosette(digest, size).shapes if isinstance(shape, Path)]


def points(path: Path, between: int = 8) -> list[tuple[float, float]]:
    """Places along a path of cubic curves, by de Casteljau's formula."""
    (x, y), found = path.steps[0], []
    for x1, y1, x2, y2, x3, y3 in path.steps[1:]:
        for part in range(between):
            t = part / between
            a, b, c, d = (1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3
            found.append((a * x + b * x1 + c * x2 + d * x3, a * y + b * y1 + c * y2 + d * y3))
        x, y = x3, y3
    return found


@given(digests)
def test_the_same_seal_has_the_same_figure(digest):
    assert rosette(digest, 12.0) == rosette(digest, 12.0)


def test_figures_of_different_seals_can_be_told_apart():
    """What the eye counts (lobes and strands of three bands) differs between almost any two."""

    def counted(number: int) -> tuple[tuple[int, int], ...]:
        digest = sha256(str(number).encode()).digest()
        return tuple((band.lobes, band.strands) for band in bands(digest))

    many = [counted(number) for number in range(200)]
    pairs = [(a, b) for index, a in enumerate(many) for b in many[index + 1 :]]
    assert sum(a == b for a, b in pairs) / len(pairs) < 1 / 1000


@given(digests, st.sampled_from([12.0, 60.0]))
def test_a_figure_keeps_inside_its_size(digest, size):
    for path in curves(digest, size):
        farthest = max(hypot(x, y) for x, y in points(path, 3))
        assert farthest + path.width / 2 <= size / 2 * 1.003


@given(digests)
def test_a_figure_is_the_same_at_any_size_but_for_its_lines(digest):
    for small, large in zip(curves(digest, 12.0), curves(digest, 60.0), strict=True):
        ratio = (60 - large.width) / (12 - small.width)
        for one, other in zip(small.steps[:9], large.steps[:9], strict=True):
            assert other == pytest.approx([ratio * value for value in one])


def test_lines_are_wide_enough_to_print():
    assert all(path.width >= 0.15 for path in curves(DIGEST, 8.0))
    assert all(path.width >= 0.3 for path in curves(DIGEST, 60.0))


def true_place(band: Band, radius: float, turn: float, t: float) -> tuple[float, float]:
    """The figure's formula, written down once more: a ring that swings in and out."""
    swing = (1 - abs(band.second)) * cos(band.lobes * t + 2 * pi * band.phase)
    swing += band.second * cos(2 * (band.lobes * t + 2 * pi * band.phase))
    away = radius * (band.radius + band.swing * swing)
    return away * cos(t + turn), away * sin(t + turn)


def test_the_curves_follow_the_formula():
    size = 60.0
    drawn = iter(curves(DIGEST, size))
    for band in bands(DIGEST):
        for strand in range(band.strands):
            path = next(drawn)
            radius = (size - path.width) / 2
            turn = 2 * pi * strand / (band.strands * band.lobes)
            found = points(path)
            for index, place in enumerate(found):
                t = 2 * pi * index / len(found)
                assert dist(place, true_place(band, radius, turn, t)) < 0.003 * size / 2


def test_the_figure_is_of_one_ink_about_the_origin():
    figure = rosette(DIGEST, 12.0, Ink.SOFT)
    middle = figure.shapes[-1]
    assert isinstance(middle, Circle)
    assert (middle.x, middle.y, middle.fill) == (0, 0, Ink.SOFT)


def test_only_a_whole_digest_has_a_figure():
    with pytest.raises(ValueError, match="32 bytes"):
        rosette(DIGEST[:31], 12.0)
