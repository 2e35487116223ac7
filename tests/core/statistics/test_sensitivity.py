"""d-prime from hits and false alarms: simulated tasters, definitions, coverage over all tables."""

from decimal import Decimal

import numpy as np
import pytest
from scipy import stats

from panel.core.statistics import Rates, distance_of, rates_at, sensitivity_of
from panel.core.statistics.inverted import MOST_TOGETHER
from panel.core.statistics.two_rates import binomial_weights
from tests.core.statistics.oracle import approx, reference

CONFIDENCE = Decimal("0.95")
DRAWS = 200_000


@pytest.mark.parametrize("row", reference("same_different"), ids=lambda row: row["d_prime"])
def test_printed_shares(row):
    hit, alarm = rates_at("same-different", float(row["d_prime"]), float(row["tau"]))
    assert 1 - alarm == approx(row["same_pair_same"], float(row["tolerance"])), row["source"]
    assert 1 - hit == approx(row["different_pair_same"], float(row["tolerance"])), row["source"]


@pytest.mark.parametrize("d", [0.0, 0.5, 1.0, 2.0])
@pytest.mark.parametrize("place", [0.3, 1.0, 1.8])
def test_simulated_tasters(d, place):
    """Perceptions are drawn and answers follow the rule; four standard errors."""
    chance = np.random.default_rng(int(100 * d + 10 * place))
    a, again, b = (chance.standard_normal(DRAWS) + mean for mean in (d, d, 0.0))
    line = d / 2 + place  # from B at 0 to A at d, the middle at d/2
    yes_no = (a > line).mean(), (b > line).mean()
    pairs = (abs(a - b) >= place).mean(), (abs(a - again) >= place).mean()
    for found, expected in zip(
        (*yes_no, *pairs),
        (*rates_at("yes-no", d, place), *rates_at("same-different", d, place)),
        strict=True,
    ):
        assert found == approx(expected, 4 * (expected * (1 - expected) / DRAWS) ** 0.5)


@pytest.mark.parametrize(
    "row", [row for row in reference("two_rates") if row["quantity"] == "d_prime"]
)
def test_d_prime_of_the_books(row):
    counts = (int(row[name]) for name in ("hits", "targets", "false_alarms", "others"))
    found = sensitivity_of("yes-no", Rates(*counts), CONFIDENCE)
    assert found.d_prime.value == approx(row["value"], float(row["tolerance"]))
    assert found.criterion == approx(-(stats.norm.ppf(0.6) + stats.norm.ppf(0.35)) / 2, 1e-12)


@pytest.mark.parametrize("line", ["yes-no", "same-different"])
@pytest.mark.parametrize("d", [0.2, 1.0, 2.5])
def test_there_and_back(line, d):
    hit, alarm = rates_at(line, d)
    assert distance_of(line, hit - alarm) == approx(d, 1e-9)
    many = 50_000
    counted = Rates(round(hit * many), many, round(alarm * many), many)
    assert sensitivity_of(line, counted, CONFIDENCE).d_prime.value == approx(d, 0.02)


def test_a_difference_that_no_d_prime_gives():
    assert distance_of("yes-no", 1.0) is None
    assert distance_of("same-different", 0.9) is None  # with that line a third is lost


@pytest.mark.parametrize("n", [6, 10])
@pytest.mark.parametrize("line", ["yes-no", "same-different"])
def test_the_interval_covers_over_all_tables(line, n):
    """Exactly: every table, at every d-prime up to 3 and every line, is covered at least 95 %."""
    found = np.empty((n + 1, n, 2))
    for x in range(n + 1):
        for y in range(n):
            interval = sensitivity_of(line, Rates(x, n, y, n - 1), CONFIDENCE).d_prime.interval
            low = -np.inf if interval.low is None else interval.low
            found[x, y] = low, np.inf if interval.high is None else interval.high
    lines = np.arange(-1.95, 2.0, 0.1) if line == "yes-no" else np.arange(0.3, 3.5, 0.1)
    worst = 1.0
    for d in (0.0, 0.5, 1.0, 2.0, 3.0):
        inside = ((found[:, :, 0] <= d) & (d <= found[:, :, 1])).astype(float)
        for place in lines:
            hit, alarm = rates_at(line, d, float(place))
            cover = binomial_weights(n, hit) @ inside @ binomial_weights(n - 1, alarm)
            worst = min(worst, float(cover))
    assert 0.95 <= worst < 0.99  # and it is no more than a careful interval


def test_paired_answers_are_covered_however_they_hang_together():
    """Both answers of a taster the same, or never the same: the interval holds."""
    n, d = 12, 1.0
    hit, alarm = rates_at("yes-no", d)
    both = min(hit, alarm)
    for together in (both, max(0.0, hit + alarm - 1)):  # as alike, as unlike as they can be
        chances = (together, hit - together, alarm - together, 1 - hit - alarm + together)
        cover = 0.0
        for a in range(n + 1):
            for b in range(n + 1 - a):
                for c in range(n + 1 - a - b):
                    weight = stats.multinomial.pmf([a, b, c, n - a - b - c], n, chances)
                    if weight < 1e-9:
                        continue
                    rates = Rates(a + b, n, a + c, n, b, c)
                    interval = sensitivity_of("yes-no", rates, CONFIDENCE).d_prime.interval
                    low = -np.inf if interval.low is None else interval.low
                    high = np.inf if interval.high is None else interval.high
                    cover += weight * (low <= d <= high)
        assert cover >= 0.95


@pytest.mark.parametrize("line", ["yes-no", "same-different"])
def test_rates_of_nought_and_one_leave_no_bound(line):
    whole = sensitivity_of(line, Rates(10, 10, 3, 10), CONFIDENCE).d_prime
    assert (whole.value, whole.interval.high) == (None, None)
    assert whole.interval.low is not None
    assert whole.interval.low > 0.5
    nothing = sensitivity_of(line, Rates(10, 10, 10, 10), CONFIDENCE).d_prime
    assert nothing.value == 0
    assert nothing.interval.high is None  # everybody said the same of everything: nothing is known
    silent = sensitivity_of(line, Rates(0, 10, 0, 10), CONFIDENCE)
    assert (silent.d_prime.value, silent.criterion) == (0, None)


def test_below_nothing_there_is_a_sign_only_where_a_cup_has_a_name():
    turned = Rates(3, 12, 9, 12)
    yes_no = sensitivity_of("yes-no", turned, CONFIDENCE).d_prime
    pairs = sensitivity_of("same-different", turned, CONFIDENCE).d_prime
    assert yes_no.value is not None
    assert yes_no.value < 0
    assert yes_no.interval.high is not None
    assert yes_no.interval.high < 1
    assert (pairs.value, pairs.interval.low) == (0.0, 0.0)


def test_swapping_what_is_called_a_hit_turns_the_sign_of_a_yes_no_d_prime():
    there = sensitivity_of("yes-no", Rates(12, 15, 5, 14), CONFIDENCE)
    back = sensitivity_of("yes-no", Rates(5, 14, 12, 15), CONFIDENCE)
    assert there.d_prime.value == approx(-back.d_prime.value, 1e-12)
    assert there.d_prime.interval.low == approx(-back.d_prime.interval.high, 1e-3)


def test_every_interval_says_how_it_was_made():
    small, large = Rates(9, 12, 4, 12), Rates(90, 150, 50, 150)
    assert large.targets + large.others > MOST_TOGETHER
    paired = Rates(9, 12, 4, 12, 6, 1)
    assert sensitivity_of("yes-no", small, CONFIDENCE).d_prime.interval.method == (
        "exact test inverted"
    )
    for counted in (large, paired):
        method = sensitivity_of("yes-no", counted, CONFIDENCE).d_prime.interval.method
        assert "both rates" in method
