"""d-prime and the proportion of correct answers: Thurstone's model of each test.

Perceptions of the two drinks are normal with unit variance and means d-prime apart. F is the
normal distribution function, f its density. Each formula stands at its function with its papers and
is checked against simulated tasters in the tests.
"""

import math
from collections.abc import Callable
from fractions import Fraction

import numpy as np
from scipy.special import ndtr, ndtri

from panel.core.errors import PanelError
from panel.core.message import say
from panel.core.statistics.inputs import Exact, exact
from panel.core.statistics.links import Link, chance_of
from panel.core.statistics.tails import Floats

# Gauss–Legendre on 0..9: beyond nine standard deviations the density is below 1e-18. Every integral
# is folded onto this half-line, since the triangle's integrand has a kink at 0 (|z|), over which a
# rule for the whole line would lose all but two digits.
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(96)
_Z: Floats = 4.5 * (_NODES + 1)
_DENSITY: Floats = _WEIGHTS * np.exp(-_Z * _Z / 2)
_MASS: Floats = _DENSITY / (2 * _DENSITY.sum())  # half of the whole, to the last digit

# The two-out-of-five's double integral: down the middle one u of three cups, across the gap g (0 to
# 18) to the highest. The weights are their joint density, and u + 2g is what the pair must exceed.
_U: Floats = np.concatenate((-_Z[::-1], _Z))[:, np.newaxis]
_G: Floats = 9 * (_NODES + 1)[np.newaxis, :]
_CUT: Floats = _U + 2 * _G
_JOINT: Floats = ndtr(_U) * np.concatenate((_MASS[::-1], _MASS))[:, np.newaxis]
_JOINT = _JOINT * (_WEIGHTS * np.exp(-((_U + _G) ** 2) / 2))
_MIDDLE_AND_GAP: Floats = _JOINT / _JOINT.sum()

# The same with a tenth of the points where the density is, good to ten digits: it says where the
# root is, so that the full rule is asked in its neighbourhood alone.
_FEW, _FEW_WEIGHTS = np.polynomial.legendre.leggauss(44)
_ROUGH_U: Floats = 6.5 * _FEW[:, np.newaxis]
_ROUGH_G: Floats = 5 * (_FEW + 1)[np.newaxis, :]
_ROUGH_CUT: Floats = _ROUGH_U + 2 * _ROUGH_G
_ROUGH_JOINT: Floats = ndtr(_ROUGH_U) * np.exp(-_ROUGH_U * _ROUGH_U / 2) * _FEW_WEIGHTS[:, None]
_ROUGH_JOINT = _ROUGH_JOINT * (_FEW_WEIGHTS * np.exp(-((_ROUGH_U + _ROUGH_G) ** 2) / 2))
_ROUGH_JOINT = _ROUGH_JOINT / _ROUGH_JOINT.sum()

_FURTHEST = 64.0  # beyond this every proportion is 1 in floating point
_NOISE = 2e-15  # ten times what is lost in a sum of thousands of terms below 1
_ROUGHNESS = 1e-9  # ten times what a stand-in is off by


def _two_afc(d: float) -> float:
    """F(d / √2). Thurstone 1927; Green & Swets 1966."""
    return float(ndtr(d / math.sqrt(2)))


def _three_afc(d: float) -> float:
    """∫ F(z)² f(z − d) dz: the stronger cup exceeds both others. Hacker & Ratcliff 1979."""
    return float(_MASS @ (ndtr(d + _Z) ** 2 + ndtr(d - _Z) ** 2))


def _triangle(d: float) -> float:
    """2 ∫₀^∞ [F(−z√3 + d√(2/3)) + F(−z√3 − d√(2/3))] f(z) dz. Frijters 1979; Ennis 1993."""
    reach, shift = _Z * math.sqrt(3), d * math.sqrt(2 / 3)
    return float(2 * _MASS @ (ndtr(shift - reach) + ndtr(-shift - reach)))


def _duo_trio(d: float) -> float:
    """1 − F(d/√2) − F(d/√6) + 2 F(d/√2) F(d/√6). David & Trivedi 1962; Ennis 1993."""
    a, b = float(ndtr(d / math.sqrt(2))), float(ndtr(d / math.sqrt(6)))
    return 1 - a - b + 2 * a * b


def _tetrad(d: float) -> float:
    """1 − 2 ∫ f(z) [2 F(z) F(z − d) − F(z − d)²] dz. Ennis, Ennis, Palen & O'Mahony 1998."""

    def mixed(z: Floats) -> Floats:
        far = ndtr(z - d)
        return np.asarray(2 * ndtr(z) * far - far * far)

    return float(1 - 2 * _MASS @ (mixed(_Z) + mixed(-_Z)))


def _tetrad_specified(d: float) -> float:
    """2 ∫ f(z) F(z) (1 − F(z − d))² dz: both stronger cups exceed both weaker ones. Ennis 1998."""

    def below(z: Floats) -> Floats:
        return np.asarray(ndtr(z) * ndtr(d - z) ** 2)

    return float(2 * _MASS @ (below(_Z) + below(-_Z)))


def _pair_above(d: float) -> float:
    """Both cups of the pair lie above the other three, and nearer to each other's side of the gap.

    Of the three let u be the middle and u + g the highest: the gap to the pair exceeds g where both
    of the pair lie above u + 2g. 6 ∫ F(u) f(u) ∫₀^∞ f(u + g) F(d − u − 2g)² dg du.
    """
    return float(np.sum(_MIDDLE_AND_GAP * ndtr(d - _CUT) ** 2))


def _two_out_of_five(d: float) -> float:
    """The pair lies above the three or below them. The grouping chosen is the tightest: the one of
    two and three whose spans add up to least, which parts the five at the wider of their two
    middle gaps. The same rule gives the triangle's and the tetrad's formula. Derived here; no
    printed values known to us."""
    return _pair_above(d) + _pair_above(-d)


def _two_out_of_five_roughly(d: float) -> float:
    """The same to ten digits, in a tenth of the time."""
    return float(np.sum(_ROUGH_JOINT * (ndtr(d - _ROUGH_CUT) ** 2 + ndtr(-d - _ROUGH_CUT) ** 2)))


_PROPORTION: dict[Link, Callable[[float], float]] = {
    "triangle": _triangle,
    "duo-trio": _duo_trio,
    "2-afc": _two_afc,
    "3-afc": _three_afc,
    "tetrad": _tetrad,
    "tetrad-specified": _tetrad_specified,
    "two-out-of-five": _two_out_of_five,
}

_ROUGHLY: dict[Link, Callable[[float], float]] = {"two-out-of-five": _two_out_of_five_roughly}
"""Stand-ins for what takes long to reckon, where the root is looked for."""


def proportion_correct(link: Link, d_prime: float) -> float:
    """Share of correct answers, chance..1, where the drinks lie d_prime >= 0 apart."""
    return min(1.0, max(float(chance_of(link)), _PROPORTION[link](d_prime)))


def pc_at_d_prime(link: Link, d_prime: Exact) -> Fraction:
    """Proportion correct to plan for at a d-prime, 0 < d_prime <= 20, to floating accuracy."""
    message = say("The d-prime to plan for must be above 0 and at most 20, for example 1.0.")
    try:
        d = exact(d_prime)
    except ValueError:
        raise PanelError("d-prime-range", message, field="d_prime") from None
    if not 0 < d <= 20:
        raise PanelError("d-prime-range", message, field="d_prime")
    return max(chance_of(link), Fraction(proportion_correct(link, float(d))))


def d_prime_from_pc(link: Link, pc: Fraction | float, *, signed: bool = False) -> float | None:
    """d-prime at a proportion correct, 0 <= pc <= 1: 0 at or below chance, None at 1 (no bound).

    `signed` is for the two-sided paired comparison (2-afc alone): below 1/2 the d-prime is
    negative, and at 0 it has no bound either.
    """
    if signed:
        if link != "2-afc":
            raise ValueError(f"d-prime has no sign in {link}")
        return None if pc in (0, 1) else math.sqrt(2) * float(ndtri(float(pc)))
    if pc >= 1:
        return None
    if pc <= chance_of(link):
        return 0.0
    if link == "2-afc":
        return math.sqrt(2) * float(ndtri(float(pc)))
    return _inverse(_PROPORTION[link], float(pc), _ROUGHLY.get(link))


def _inverse(
    rising: Callable[[float], float],
    target: float,
    roughly: Callable[[float], float] | None = None,
) -> float | None:
    """d >= 0 with rising(d) = target, by halving to the last digit; None where there is none.

    roughly: a cheap stand-in for `rising`. It only says where `rising` need not be asked, so the
    digits are the same with and without.
    """
    first = rising if roughly is None else _told_apart(rising, target, roughly)
    low, high = 0.0, 1.0
    while first(high) < target:
        low, high = high, 2 * high
        if high > _FURTHEST:
            return None
    near = (low, high) if roughly is None else _near(rising, target, roughly, (low, high))
    while low < (middle := (low + high) / 2) < high:
        falls_short = middle <= near[0] or (middle < near[1] and rising(middle) < target)
        low, high = (middle, high) if falls_short else (low, middle)
    return high


def _told_apart(
    rising: Callable[[float], float], target: float, roughly: Callable[[float], float]
) -> Callable[[float], float]:
    """The stand-in where it lies clear of the target, `rising` itself where it does not."""

    def known(d: float) -> float:
        value = roughly(d)
        return value if abs(value - target) > _ROUGHNESS else rising(d)

    return known


def _near(
    rising: Callable[[float], float],
    target: float,
    roughly: Callable[[float], float],
    within: tuple[float, float],
) -> tuple[float, float]:
    """A narrow bracket of the root of rising(d) = target, both ends tried with `rising` itself."""
    root = _crossing(roughly, target, within)
    slope = (roughly(root + 1e-4) - roughly(root)) / 1e-4
    root += (target - rising(root)) / slope  # where the true rule crosses, by Newton's step
    reach = max(_NOISE / slope, _NOISE * root)
    while reach < within[1] - within[0]:
        low, high = max(within[0], root - reach), min(within[1], root + reach)
        if rising(low) < target <= rising(high):
            return low, high
        reach *= 16
    return within


def _crossing(
    rising: Callable[[float], float], target: float, within: tuple[float, float]
) -> float:
    """Where rising(d) = target, to nine digits: false position, halving the value of an end that
    stays (the Illinois rule; Dowell & Jarratt 1971, BIT 11:168-174)."""
    (low, high), side = within, 0
    below, above = rising(low) - target, rising(high) - target
    while high - low > 1e-9 * high and above > 0 > below:
        middle = (low * above - high * below) / (above - below)
        value = rising(middle) - target
        if abs(value) < 1e-13:
            return middle
        if value < 0:
            low, below, above, side = middle, value, above / 2 if side < 0 else above, -1
        else:
            high, above, below, side = middle, value, below / 2 if side > 0 else below, 1
    return (low + high) / 2
