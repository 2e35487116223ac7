"""Two shares alike within a margin: the risk is kept everywhere, by adding up every table."""

from decimal import Decimal
from functools import cache

import numpy as np
import pytest
from scipy import stats

from panel.core.errors import PanelError
from panel.core.statistics import equivalent

ALPHA = Decimal("0.05")


@pytest.mark.parametrize(
    ("first", "second", "margin", "alike"),
    [
        ((200, 600), (205, 600), "0.1", True),
        ((200, 600), (245, 600), "0.1", False),
        ((4, 12), (4, 12), "0.2", False),  # too few: neither different nor alike
        ((12, 12), (12, 12), "0.3", True),
    ],
)
def test_alike_or_not_and_the_same_with_groups_changed_over(first, second, margin, alike):
    known = equivalent(*first, *second, Decimal(margin), ALPHA)
    assert known.alike is alike
    other = equivalent(*second, *first, Decimal(margin), ALPHA)
    assert other.p_value == pytest.approx(known.p_value)


@cache
def said_alike(n: int, m: int, margin: str) -> np.ndarray:
    """Which tables of n and m are called alike."""
    return np.array(
        [
            [equivalent(x, n, y, m, Decimal(margin), ALPHA).alike for y in range(m + 1)]
            for x in range(n + 1)
        ]
    )


@pytest.mark.parametrize(("n", "m", "margin"), [(20, 20, "0.3"), (24, 12, "0.35"), (9, 30, "0.4")])
def test_shares_the_margin_apart_or_more_are_called_alike_at_most_as_often_as_alpha(n, m, margin):
    """Over the whole region, not only its edge: every pair of shares so far apart."""
    alike = said_alike(n, m, margin)
    assert alike.any()
    worst = 0.0
    for gap in np.arange(float(margin), 1.0001, 0.05):
        for low in np.linspace(0, 1 - min(1, gap), 41):
            for p, q in ((low, min(1, low + gap)), (min(1, low + gap), low)):
                one = stats.binom.pmf(np.arange(n + 1), n, p)
                other = stats.binom.pmf(np.arange(m + 1), m, q)
                worst = max(worst, float(one @ alike @ other))
    assert 0.01 < worst <= 0.05 + 1e-9


def test_by_adding_up_in_a_plain_loop():
    """5 of 9 and 6 of 11 within 0.5, one side at one pair of shares below the largest found."""
    known = equivalent(5, 9, 6, 11, Decimal("0.5"), ALPHA)

    def t(x: int, n: int, y: int, m: int) -> float:
        p, q = (x + 1) / (n + 2), (y + 1) / (m + 2)
        return (p - q - 0.5) / (p * (1 - p) / (n + 2) + q * (1 - q) / (m + 2)) ** 0.5

    def one_sided(x: int, n: int, y: int, m: int) -> float:
        far = [
            (i, j)
            for i in range(n + 1)
            for j in range(m + 1)
            if t(i, n, j, m) <= t(x, n, y, m) + 1e-9
        ]
        shares = np.linspace(0, 0.5, 1001)
        i, j = (np.array(column)[:, None] for column in zip(*far, strict=True))
        of = stats.binom.pmf(i, n, shares + 0.5) * stats.binom.pmf(j, m, shares)
        return float(of.sum(axis=0).max())

    expected = max(one_sided(5, 9, 6, 11), one_sided(6, 11, 5, 9))
    assert known.p_value == pytest.approx(expected, abs=1e-6)


def test_what_cannot_be_asked():
    assert equivalent(300, 1500, 300, 1500, Decimal("0.1"), ALPHA) is None
    with pytest.raises(PanelError):
        equivalent(3, 2, 1, 2, Decimal("0.1"), ALPHA)
