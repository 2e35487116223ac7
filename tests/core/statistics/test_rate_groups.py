"""Two groups with hits and false alarms: the exact test against dealing each answer out by hand."""

from decimal import Decimal
from itertools import combinations

import pytest

from panel.core.errors import PanelError
from panel.core.statistics import Rates, rates_between

CONFIDENCE = Decimal("0.95")


def said(count: int, of: int) -> list[int]:
    return [1] * count + [0] * (of - count)


def by_hand(first: Rates, second: Rates) -> float:
    """Every way to deal the answers of either kind of tray to the two groups."""
    hits = said(first.hits + second.hits, first.targets + second.targets)
    alarms = said(first.false_alarms + second.false_alarms, first.others + second.others)

    def apart(x: int, y: int) -> float:
        return abs(
            x / first.targets
            - y / first.others
            - (sum(hits) - x) / second.targets
            + (sum(alarms) - y) / second.others
        )

    observed = apart(first.hits, first.false_alarms) - 1e-9
    deals = [
        (sum(hits[i] for i in one), sum(alarms[i] for i in other))
        for one in combinations(range(len(hits)), first.targets)
        for other in combinations(range(len(alarms)), first.others)
    ]
    return sum(apart(*deal) >= observed for deal in deals) / len(deals)


@pytest.mark.parametrize(
    ("first", "second"),
    [
        (Rates(3, 3, 0, 3), Rates(1, 4, 2, 3)),
        (Rates(2, 4, 1, 2), Rates(2, 3, 3, 4)),
        (Rates(0, 2, 2, 3), Rates(4, 4, 1, 3)),
        (Rates(2, 3, 2, 3), Rates(2, 3, 2, 3)),
    ],
)
def test_every_deal(first, second):
    found = rates_between(first, second, CONFIDENCE)
    assert found.p_value == pytest.approx(by_hand(first, second))
    back = rates_between(second, first, CONFIDENCE)
    assert (back.p_value, back.difference) == (
        pytest.approx(found.p_value),
        pytest.approx(-found.difference),
    )
    assert back.interval.low == pytest.approx(-found.interval.high)


def test_pairs_are_dealt_out_by_whole_tasters():
    """Three of the first group with a hit alone, of four; of the second one of five, and one with
    a false alarm alone."""
    first, second = Rates(4, 4, 1, 4, 3, 0), Rates(2, 5, 2, 5, 1, 1)
    scores = [1, 1, 1, 0, 1, -1, 0, 0, 0]
    apart = [
        abs(sum(scores[i] for i in one) / 4 - (sum(scores) - sum(scores[i] for i in one)) / 5)
        for one in combinations(range(9), 4)
    ]
    observed = abs(3 / 4 - 0 / 5)
    known = sum(value >= observed - 1e-9 for value in apart) / len(apart)
    assert rates_between(first, second, CONFIDENCE).p_value == pytest.approx(known)


def test_two_large_groups_and_what_cannot_be():
    found = rates_between(Rates(60, 80, 20, 80), Rates(30, 70, 30, 70), CONFIDENCE)
    assert found.difference == pytest.approx(0.5)
    assert found.p_value < 0.001
    assert found.interval.low > 0.2
    with pytest.raises(PanelError):
        rates_between(Rates(3, 2, 0, 1), Rates(1, 1, 0, 1), CONFIDENCE)
