"""Shares and chances as people say them: "39 in 100", "about 3 of 100", "hardly any"."""

from fractions import Fraction

from panel.core.message import Message, Number, say
from panel.core.statistics.results import Interval


def in_100(share: float) -> int:
    """A share as a whole number in a hundred, never beyond 0..100."""
    return min(100, max(0, round(100 * share)))


def limit_in_100(share: Fraction) -> Number:
    """A share that somebody chose, in a hundred: with one digit after the point if it needs one."""
    hundred = 100 * float(share)
    return Number(hundred, 0 if abs(hundred - round(hundred)) < 0.05 else 1)


def how_often(p: float) -> Message:
    """A probability as panels out of many; never "0 of", and "all" only where it is so."""
    if p < 0.001:
        return say("fewer than 1 of 1000")
    if p < 0.01:
        return say("about %(count)s of 1000", count=round(1000 * p))
    if p < 0.995:
        return say("about %(count)s of 100", count=round(100 * p))
    return say("nearly all") if p < 1 else say("all")


def from_to(low: float, high: float, *, trays: bool) -> tuple[Message, Message]:
    """The two ends of an interval of people (or of one taster's trays), each as a phrase."""
    least, most = in_100(low), in_100(high)
    if least == 0:
        lower = say("none") if trays else say("nobody")
    elif most == 100:
        lower = say("%(count)s in 100", count=least)
    else:
        lower = say("%(count)s", count=least)
    return lower, _upper(most, trays)


def _upper(most: int, trays: bool) -> Message:
    if most == 100:
        return say("all trays of this taster") if trays else say("all such tasters")
    if most == 0:
        return say("hardly any tray of this taster") if trays else say("hardly any such taster")
    if trays:
        return say("%(count)s in 100 trays of this taster", count=most)
    return say("%(count)s in 100 of such tasters", count=most)


def few_to_all(interval: Interval) -> tuple[Message, Message]:
    """The two ends of an interval of what a test says is there: never "nobody".

    At the edge the two-sided interval reaches chance although the one-sided test passes.
    """
    least, most = in_100(interval.low), in_100(interval.high)
    return (
        say("%(count)s", count=least) if least else say("very few"),
        say("%(count)s", count=most) if most < 100 else say("all"),
    )
