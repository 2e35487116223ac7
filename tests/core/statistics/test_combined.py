"""Several panels as one: against another library, against enumeration; what always holds."""

import csv
from fractions import Fraction
from itertools import product
from pathlib import Path
from random import Random

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from panel.core.errors import PanelError
from panel.core.statistics import Combined, IntervalMethod, Panel, clopper_pearson, combine

THIRD, HALF, SIXTH, TENTH = (Fraction(1, of) for of in (3, 2, 6, 10))
CONFIDENCE = Fraction(95, 100)
CLOSE = 1e-9

PANELS = st.integers(1, 40).flatmap(
    lambda n: st.builds(
        Panel, st.integers(0, n), st.just(n), st.sampled_from((THIRD, HALF, SIXTH, TENTH))
    )
)
SEVERAL = st.lists(PANELS, min_size=2, max_size=5)


def together(*counts: tuple[int, int, Fraction]) -> Combined:
    return combine([Panel(*count) for count in counts], CONFIDENCE)


def reference() -> list[dict[str, str]]:
    path = Path(__file__).parent / "reference" / "combined.csv"
    with path.open(encoding="utf-8") as file:
        return list(csv.DictReader(line for line in file if not line.startswith("#")))


@pytest.mark.parametrize("row", reference(), ids=lambda row: str(row["case"]))
def test_spread_and_mean_are_what_another_library_gives(row: dict[str, str]) -> None:
    """statsmodels.stats.meta_analysis.combine_effects (reference/combined.csv says how)."""
    panels = [Panel(*map(int, one.split("/")[:2]), Fraction(1, int(one.split("/")[2])))
              for one in row["panels"].split()]  # fmt: skip
    found = combine(panels, CONFIDENCE)
    assert found.q == pytest.approx(float(row["q"]), abs=1e-8)
    assert found.i_squared == pytest.approx(max(0, float(row["i_squared"])), abs=1e-8)
    assert found.tau_squared == pytest.approx(max(0, float(row["tau_squared"])), abs=1e-8)
    assert found.mean is not None
    assert found.mean.value == pytest.approx(float(row["mean"]), abs=1e-8)
    floor = max(float(-panel.chance / (1 - panel.chance)) for panel in panels)
    low, high = max(floor, float(row["low"])), min(1.0, float(row["high"]))
    assert found.mean.interval.low == pytest.approx(low, abs=1e-8)
    assert found.mean.interval.high == pytest.approx(high, abs=1e-8)


@pytest.mark.parametrize(
    ("table", "chance"),
    [
        ([(15, 36), (20, 36)], THIRD),
        ([(8, 24), (17, 24), (11, 20)], HALF),
        ([(0, 5), (5, 5)], THIRD),
    ],
)
def test_with_one_chance_q_is_pearsons_chi_square(
    table: list[tuple[int, int]], chance: Fraction
) -> None:
    """scipy.stats.chi2_contingency without continuity correction, where the common proportion lies
    above guessing."""
    found = together(*((x, n, chance) for x, n in table))
    peer = stats.chi2_contingency([(x, n - x) for x, n in table], correction=False)
    assert found.q == pytest.approx(peer.statistic, abs=CLOSE)
    assert found.p_value == pytest.approx(peer.pvalue, abs=CLOSE)
    assert found.freedom == peer.dof


def test_with_one_chance_the_interval_is_that_of_the_total() -> None:
    found = together((15, 36, THIRD), (20, 36, THIRD))
    pc = clopper_pearson(35, 72, CONFIDENCE)
    assert found.common.value == pytest.approx((35 / 72 - 1 / 3) / (2 / 3))
    assert found.common.interval.low == pytest.approx((pc.low - 1 / 3) / (2 / 3))
    assert found.common.interval.high == pytest.approx((pc.high - 1 / 3) / (2 / 3))
    assert found.weights == (0.5, 0.5)


def test_with_several_chances_the_ends_are_those_of_every_table_counted() -> None:
    """The tails at the ends, by adding up every pair of counts (scipy.stats.binom)."""
    seen, sizes, chances = (6, 9), (10, 12), (THIRD, HALF)
    found = together(*zip(seen, sizes, chances, strict=True))
    assert found.common.interval.method is IntervalMethod.WEIGHTED_SUM
    score = sum(x / float(p0) for x, p0 in zip(seen, chances, strict=True))

    def tail(pd: float, sign: int) -> float:
        rows = [stats.binom.pmf(np.arange(n + 1), n, float(p0) + pd * (1 - float(p0)))
                for n, p0 in zip(sizes, chances, strict=True)]  # fmt: skip
        return sum(
            rows[0][x] * rows[1][y]
            for x, y in product(range(11), range(13))
            if sign * (3 * x + 2 * y - score) >= -CLOSE
        )

    assert tail(found.common.interval.low, 1) == pytest.approx(0.025, abs=1e-9)
    assert tail(found.common.interval.high, -1) == pytest.approx(0.025, abs=1e-9)
    # by hand: (3·6 − 10 + 2·9 − 12) / (10·2 + 12·1)
    assert found.common.value == pytest.approx(14 / 32)
    assert found.weights == pytest.approx((20 / 32, 12 / 32))


@pytest.mark.parametrize("pd", [0.0, 0.1, 0.3, 0.6, 0.95])
def test_the_interval_covers_what_it_promises(pd: float) -> None:
    """Over every table of 7 tasters of a triangle and 6 of a duo-trio test."""
    covered = 0.0
    for x, y in product(range(8), range(7)):
        interval = together((x, 7, THIRD), (y, 6, HALF)).common.interval
        if interval.low - CLOSE <= pd <= interval.high + CLOSE:
            covered += stats.binom.pmf(x, 7, 1 / 3 + pd * 2 / 3) * stats.binom.pmf(
                y, 6, 1 / 2 + pd / 2
            )
    assert covered >= 0.95 - CLOSE


@given(SEVERAL, st.randoms(use_true_random=False))
def test_the_order_of_the_panels_does_not_matter(panels: list[Panel], chance: Random) -> None:
    shuffled = list(panels)
    chance.shuffle(shuffled)
    one, other = combine(panels, CONFIDENCE), combine(shuffled, CONFIDENCE)
    assert one.common == other.common
    assert one.q == pytest.approx(other.q, abs=1e-9)
    assert one.tau_squared == pytest.approx(other.tau_squared, abs=1e-9)
    assert sorted(one.weights) == pytest.approx(sorted(other.weights))


@given(SEVERAL)
def test_what_is_said_hangs_together(panels: list[Panel]) -> None:
    found = combine(panels, CONFIDENCE)
    low, high = found.common.interval.low, found.common.interval.high
    assert -1 <= low <= found.common.value + CLOSE
    assert found.common.value - CLOSE <= high <= 1
    assert found.q >= 0
    assert 0 <= found.p_value <= 1
    assert 0 <= found.i_squared < 1
    assert sum(found.weights) == pytest.approx(1)
    if found.mean is not None:
        assert found.mean.interval.low <= found.mean.value + CLOSE
        assert found.mean.value - CLOSE <= found.mean.interval.high


@given(PANELS, st.integers(2, 4))
def test_equal_panels_narrow_the_interval_and_leave_the_estimate(panel: Panel, many: int) -> None:
    fewer, more = combine([panel] * many, CONFIDENCE), combine([panel] * 2 * many, CONFIDENCE)
    assert more.common.value == pytest.approx(fewer.common.value)
    width = [one.common.interval.high - one.common.interval.low for one in (fewer, more)]
    assert width[1] < width[0]
    assert fewer.q == pytest.approx(0, abs=1e-9)
    assert fewer.i_squared == 0


@given(SEVERAL, PANELS)
def test_one_more_right_never_lowers_it(panels: list[Panel], last: Panel) -> None:
    if last.correct == last.tasters:
        return
    better = Panel(last.correct + 1, last.tasters, last.chance)
    one, other = combine([*panels, last], CONFIDENCE), combine([*panels, better], CONFIDENCE)
    assert other.common.value >= one.common.value - CLOSE
    assert other.common.interval.low >= one.common.interval.low - CLOSE
    assert other.common.interval.high >= one.common.interval.high - CLOSE


def test_everybody_right_everywhere_leaves_nothing_to_differ() -> None:
    found = together((8, 8, THIRD), (6, 6, HALF))
    assert (found.common.value, found.common.interval.high) == (1, 1)
    assert (found.q, found.i_squared, found.mean) == (0, 0, None)


def test_one_panel_is_not_combined_and_an_impossible_count_is_refused() -> None:
    with pytest.raises(ValueError, match="fewer than two"):
        together((8, 8, THIRD))
    with pytest.raises(PanelError):
        together((8, 8, THIRD), (9, 8, THIRD))
