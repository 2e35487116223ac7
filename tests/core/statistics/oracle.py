"""Slow and plain: the same numbers in integers and fractions, and the reference files."""

import csv
from fractions import Fraction
from math import comb
from pathlib import Path
from typing import Any

REFERENCE = Path(__file__).parent / "reference"

HALF, THIRD, SIXTH = Fraction(1, 2), Fraction(1, 3), Fraction(1, 6)


def reference(name: str) -> list[dict[str, str]]:
    """Rows of a reference file."""
    with (REFERENCE / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def tail(x: int, n: int, p: Fraction) -> Fraction:
    """P(X >= x | n, p) by adding up every term."""
    hit, miss = p.numerator, p.denominator - p.numerator
    ways = sum(comb(n, k) * hit**k * miss ** (n - k) for k in range(max(x, 0), n + 1))
    return Fraction(ways, p.denominator**n)


def critical(n: int, p: Fraction, alpha: Fraction, sides: int = 1) -> int | None:
    """Smallest x with sides * P(X >= x) <= alpha, adding from the top in integers."""
    hit, miss = p.numerator, p.denominator - p.numerator
    total, ways, x = p.denominator**n, 0, n + 1
    while x > 0:
        ways += comb(n, x - 1) * hit ** (x - 1) * miss ** (n - x + 1)
        if sides * ways * alpha.denominator > alpha.numerator * total:
            break
        x -= 1
    return x if x <= n else None


def approx(value: Any, tolerance: float) -> Any:
    """Absolute tolerance alone, as the reference files give it."""
    import pytest

    return pytest.approx(float(value), abs=tolerance, rel=0)
