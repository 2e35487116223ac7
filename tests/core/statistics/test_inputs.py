"""What may be put in, and what is said when it cannot be."""

from decimal import Decimal
from fractions import Fraction

import pytest

from panel.core.errors import Fault, PanelError
from panel.core.statistics.inputs import (
    MAX_TASTERS,
    check_alpha,
    check_beta,
    check_confidence,
    check_count,
    check_pd,
    check_power,
    check_tasters,
    exact,
)

CHECKS = {
    "alpha": check_alpha,
    "beta": check_beta,
    "confidence": check_confidence,
    "pd": check_pd,
    "power": check_power,
}


def test_decimals_stay_exact():
    assert exact(Decimal("0.05")) == Fraction(1, 20)
    assert exact(Fraction(1, 3)) == Fraction(1, 3)
    assert exact(Decimal("1e-30")) == Fraction(1, 10**30)


@pytest.mark.parametrize("value", [0.05, 1, "0.05", None])
def test_a_binary_float_is_refused(value):
    with pytest.raises(TypeError, match="exact"):
        exact(value)


@pytest.mark.parametrize("field", sorted(CHECKS))
@pytest.mark.parametrize("value", ["-0.1", "0", "1.01", "NaN", "-Infinity", "1e-31", "1e-999999"])
def test_outside_the_range(field, value):
    with pytest.raises(PanelError) as refusal:
        CHECKS[field](Decimal(value))
    error = refusal.value
    assert (error.field, error.fault, error.code) == (field, Fault.INPUT, f"{field}-range")
    assert "for example" in str(error)


@pytest.mark.parametrize("field", sorted(CHECKS))
def test_inside_the_range(field):
    assert CHECKS[field](Decimal("0.05")) == Fraction(1, 20)


def test_only_discriminators_may_be_all():
    assert check_pd(Decimal(1)) == 1
    with pytest.raises(PanelError):
        check_alpha(Decimal(1))


def test_counts():
    check_count(0, 1)
    check_count(MAX_TASTERS, MAX_TASTERS)
    with pytest.raises(PanelError, match=r"11\) than tasters \(10\)"):
        check_count(11, 10)
    with pytest.raises(PanelError, match="100000"):
        check_tasters(MAX_TASTERS + 1)
