"""What may be put into the statistics: counts, risks and proportions, checked before computing.

Risks and proportions are exact (`Decimal` or `Fraction`), never `float`: 0.05 as a binary float is
not one twentieth, and a critical number may hang on the difference.
"""

from decimal import Decimal
from fractions import Fraction

from panel.core.errors import PanelError
from panel.core.message import Message, say

MAX_TASTERS = 100_000
MAX_DECIMALS = 30  # far beyond use; keeps a typed 1e-999999 from filling the memory

Exact = Decimal | Fraction


def exact(value: Exact) -> Fraction:
    """The number as a fraction.

    TypeError for a float; ValueError for a decimal that is not finite or has over 30 places.
    """
    if isinstance(value, Fraction):
        return value
    if not isinstance(value, Decimal):
        raise TypeError(f"an exact number is needed, not {type(value).__name__} {value!r}")
    exponent = value.as_tuple().exponent
    if not isinstance(exponent, int) or not -MAX_DECIMALS <= exponent <= MAX_DECIMALS:
        raise ValueError(f"not a usable decimal: {value}")
    return Fraction(value)


def _within(value: Exact, field: str, message: Message, *, one: bool = False) -> Fraction:
    """The value as a fraction if 0 < value < 1 (or value == 1 where `one`), else a refusal."""
    try:
        number = exact(value)
    except ValueError:
        raise PanelError(f"{field}-range", message, field=field) from None
    if not (0 < number < 1 or (one and number == 1)):
        raise PanelError(f"{field}-range", message, field=field)
    return number


def check_alpha(alpha: Exact) -> Fraction:
    """Alpha risk, 0 < alpha < 1."""
    sentence = say(
        "The alpha risk must lie between 0 and 1 and have at most 30 decimals, for example 0.05."
    )
    return _within(alpha, "alpha", sentence)


def check_beta(beta: Exact) -> Fraction:
    """Beta risk, 0 < beta < 1."""
    sentence = say(
        "The beta risk must lie between 0 and 1 and have at most 30 decimals, for example 0.20."
    )
    return _within(beta, "beta", sentence)


def check_power(power: Exact) -> Fraction:
    """Power, 0 < power < 1."""
    sentence = say(
        "The power must lie between 0 and 1 and have at most 30 decimals, for example 0.80."
    )
    return _within(power, "power", sentence)


def check_confidence(confidence: Exact) -> Fraction:
    """Confidence of a two-sided interval, 0 < confidence < 1."""
    sentence = say(
        "The confidence must lie between 0 and 1 and have at most 30 decimals, for example 0.95."
    )
    return _within(confidence, "confidence", sentence)


def check_pd(pd: Exact) -> Fraction:
    """Proportion of discriminators to plan for, 0 < pd <= 1."""
    sentence = say(
        "The proportion of tasters who can truly tell apart must be above 0 and at most 1, "
        "with at most 30 decimals, for example 0.30."
    )
    return _within(pd, "pd", sentence, one=True)


def check_tasters(tasters: int) -> int:
    """Number of tasters, 1..MAX_TASTERS."""
    if tasters < 1:
        raise PanelError(
            "tasters-too-few", say("There must be at least one taster."), field="tasters"
        )
    if tasters > MAX_TASTERS:
        message = say(
            "At most %(limit)s tasters can be computed; you gave %(tasters)s.",
            limit=MAX_TASTERS,
            tasters=tasters,
        )
        raise PanelError("tasters-too-many", message, field="tasters")
    return tasters


def check_count(correct: int, tasters: int) -> None:
    """Correct answers out of tasters: 1 <= tasters <= MAX_TASTERS, 0 <= correct <= tasters."""
    check_tasters(tasters)
    if correct < 0:
        message = say("The number of correct answers cannot be below 0.")
        raise PanelError("correct-negative", message, field="correct")
    if correct > tasters:
        message = say(
            "There cannot be more correct answers (%(correct)s) than tasters (%(tasters)s).",
            correct=correct,
            tasters=tasters,
        )
        raise PanelError("correct-above-tasters", message, field="correct")


def check_rule(chance: Fraction, sides: int) -> None:
    """Chance 0 < p0 < 1; one side, or two where chance is 1/2. A breach is the caller's mistake."""
    if not isinstance(chance, Fraction) or not 0 < chance < 1:
        raise ValueError(f"chance must be a Fraction between 0 and 1, not {chance!r}")
    if sides not in (1, 2):
        raise ValueError(f"a test has one side or two, not {sides}")
    if sides == 2 and chance != Fraction(1, 2):
        raise ValueError("only a test with chance 1/2 can have two sides")


def check_pc(chance: Fraction, pc: Fraction) -> Fraction:
    """Proportion correct to plan for, chance < pc <= 1."""
    if not chance < pc <= 1:
        message = say(
            "The difference to plan for is too small to compute: "
            "it leaves the proportion of correct answers at guessing. Choose a larger one."
        )
        raise PanelError("difference-too-small", message)
    return pc
