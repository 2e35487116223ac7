"""What shape ink has: made of points on lines, discs and corners, judged by geometry alone."""

from itertools import pairwise

import numpy as np
import pytest

from panel.scanning.strokes import AROUND, ROUND_AT, opposite, passing, thin_stroke

GRID = np.stack(np.meshgrid(np.linspace(-0.72, 0.72, 61), np.linspace(-0.72, 0.72, 61)), axis=-1)
DISC = GRID[np.hypot(GRID[..., 0], GRID[..., 1]) <= 0.72]
"""Points inside a place, evenly spread, in half widths."""


def on_line(angle: float, off: float, wide: float) -> tuple[np.ndarray, np.ndarray]:
    """Ink and exits of an endless straight line: degrees, distance from the middle, width."""
    way = np.radians(angle)
    along, across = (
        np.array([np.cos(way), np.sin(way)]),
        np.array([-np.sin(way), np.cos(way)]),
    )
    angles = np.arange(AROUND) * 2 * np.pi / AROUND
    rim = ROUND_AT * np.stack([np.cos(angles), np.sin(angles)], axis=1)
    assert abs(along @ across) < 1e-9
    return DISC[np.abs(DISC @ across - off) <= wide / 2], np.abs(rim @ across - off) <= wide / 2


@pytest.mark.parametrize("angle", range(0, 180, 20))
@pytest.mark.parametrize("off", [-0.5, 0.0, 0.3])
@pytest.mark.parametrize("wide", [0.16, 0.5])
def test_all_ink_of_a_line_passing_through_lies_on_it(angle, off, wide):
    ink, exits = on_line(angle, off, wide)
    assert opposite(exits[None])[0]
    assert passing(ink, exits) == (1.0, 1.0)


@pytest.mark.parametrize("turn", range(0, 90, 15))
@pytest.mark.parametrize("wide", [0.16, 0.5])
def test_half_of_a_cross_lies_beside_either_of_its_lines(turn, wide):
    one, other = on_line(turn, 0.0, wide), on_line(turn + 90, 0.0, wide)
    ink = np.unique(np.vstack([one[0], other[0]]), axis=0)
    on_one, on_both = passing(ink, one[1] | other[1])
    assert on_one < 0.85
    assert on_both == 1.0


def test_a_full_place_that_is_struck_through_has_ink_beside_all_lines():
    _, exits = on_line(30, 0.0, 0.16)
    on_one, on_all = passing(DISC, exits)
    assert on_one == on_all < 0.5


def test_what_leaves_on_one_side_only_passes_through_nothing():
    ink, exits = on_line(0, 0.0, 0.2)
    exits = exits & (np.arange(AROUND) < AROUND // 4)
    assert not opposite(exits[None])[0]
    assert passing(ink, exits) == (0.0, 0.0)


def test_a_tick_was_drawn_and_neither_a_dot_nor_a_line_from_rim_to_rim():
    def near(*ends: tuple[float, float]) -> np.ndarray:
        share = np.linspace(0, 1, 200)[:, None]
        path = (
            np.vstack([(1 - share) * one + share * two for one, two in pairwise(ends)])
            if len(ends) > 1
            else np.array(ends)
        )
        apart = np.hypot(*(DISC[:, None] - path[None]).transpose(2, 0, 1)).min(axis=1)
        return DISC[apart <= 0.09]

    assert thin_stroke(near((-0.5, 0.0), (-0.1, 0.5), (0.5, -0.5)))
    assert thin_stroke(near((-0.3, 0.3), (0.72, -0.72)))
    assert not thin_stroke(near((0.1, 0.1)))
    assert not thin_stroke(near((-0.72, 0.2), (0.72, 0.3)))
