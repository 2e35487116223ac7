"""Results are plain: Python's own numbers, all finite, nothing to be changed afterwards."""

from dataclasses import FrozenInstanceError

import numpy as np
import pytest

from panel.core.statistics import DPrimeInterval, Interval, IntervalMethod, PlanNumbers, PowerCurve

WILSON = IntervalMethod.WILSON


def test_numbers_are_forced_to_their_kind():
    interval = Interval(np.float64(0), 1, np.float32(0.5), WILSON)
    assert [type(x) for x in (interval.low, interval.high, interval.confidence)] == [float] * 3
    plan = PlanNumbers(np.int64(40), 42, np.int64(42), 20, np.float64(0.8), None)
    assert [type(x) for x in (plan.first_tasters, plan.tasters, plan.power)] == [int, int, float]
    curve = PowerCurve(tuple(np.array([3])), (None,), tuple(np.array([0.5])))
    assert (type(curve.tasters[0]), type(curve.power[0])) == (int, float)


def test_none_stays_none():
    assert DPrimeInterval(None, None, 0.95, WILSON).low is None


@pytest.mark.parametrize("bad", [float("nan"), float("inf"), np.float64("-inf")])
def test_what_is_not_finite_is_refused(bad):
    with pytest.raises(ValueError, match="finite"):
        Interval(bad, 1.0, 0.95, WILSON)
    with pytest.raises(ValueError, match="finite"):
        DPrimeInterval(0.0, bad, 0.95, WILSON)
    with pytest.raises(ValueError, match="finite"):
        PowerCurve((3,), (3,), (bad,))


def test_frozen():
    interval = Interval(0.0, 1.0, 0.95, WILSON)
    with pytest.raises(FrozenInstanceError):
        interval.low = 0.5  # type: ignore[misc]
