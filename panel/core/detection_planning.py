"""What a plan can answer whose method counts hits against false alarms.

The difference that matters is a d-prime, with the line where people usually draw it
(`core.statistics.sensitivity`); or a share of people who truly tell, the others giving either
answer as often: then hits exceed false alarms by that share.
"""

from fractions import Fraction

from panel.core import statistics
from panel.core.errors import PanelError
from panel.core.message import Message, Share, say
from panel.core.methods import Detection
from panel.core.plan import Plan
from panel.core.planning import Outlook, Turnout, difference_given, say_needed
from panel.core.statistics.detection_results import RatesNeeded


def planned_rates(plan: Plan, method: Detection) -> tuple[float, float]:
    """Hit and false-alarm rate at the smallest difference that matters.

    PanelError: "no-difference" unless exactly one of pd and d-prime is given, and as `checked`.
    """
    difference_given(plan)
    if plan.pd is not None:
        share = float(statistics.pc_at_pd(Fraction(1, 2), plan.pd))
        return share, 1 - share
    assert plan.d_prime is not None  # one of the two is given
    statistics.pc_at_d_prime("2-afc", plan.d_prime)  # refuses what is no d-prime
    return statistics.rates_at(method.line, float(plan.d_prime))


def planned_distance(plan: Plan, method: Detection) -> float | None:
    """The d-prime that a plan means; None where a share is too large to be one."""
    if plan.d_prime is not None:
        return float(plan.d_prime)
    hit, alarm = planned_rates(plan, method)
    return statistics.distance_of(method.line, hit - alarm)


def rates_needed(plan: Plan, method: Detection, rates: tuple[float, float]) -> RatesNeeded | None:
    """First and holding number of tasters at these rates; None if too many to compute."""
    try:
        return statistics.tasters_for_rates(*rates, plan.alpha, plan.beta, paired=method.paired)
    except PanelError as refusal:
        if refusal.code != "plan-too-large":
            raise
        return None


def detection_turnout(plan: Plan, method: Detection, tasters: int) -> Turnout | None:
    """What so many ballots of a plan can decide; None for no tasters."""
    if tasters < 1:
        return None
    each = (tasters, tasters) if method.paired else (tasters - tasters // 2, tasters // 2)
    return Turnout(
        tasters=tasters,
        decisive=None,
        power=statistics.power_of_rates(
            tasters, *planned_rates(plan, method), plan.alpha, paired=method.paired
        ),
        smallest_pd=statistics.smallest_difference(
            tasters, plan.alpha, 1 - Fraction(plan.beta), paired=method.paired
        ),
        can_decide=statistics.can_decide(*each, plan.alpha, paired=method.paired),
    )


def detection_outlook(plan: Plan, method: Detection, *, one_taster: bool = False) -> Outlook:
    """As `planning.outlook`, for a method that counts hits and false alarms."""
    needed = rates_needed(plan, method, planned_rates(plan, method))
    coming = plan.tasters if plan.expected is None else plan.expected
    planned = detection_turnout(plan, method, plan.tasters)
    expected = planned if coming == plan.tasters else detection_turnout(plan, method, coming)
    if one_taster:
        expected = planned
    enough = expected is not None and expected.power >= float(1 - plan.beta)
    can_answer = expected is not None and expected.can_decide and (one_taster or enough)
    return Outlook(
        needed=None if one_taster else needed,
        target=float(1 - plan.beta),
        planned=planned,
        expected=expected,
        can_answer=can_answer,
        verdict=_one_taster(planned) if one_taster else _verdict(needed, expected, can_answer),
        advice=() if one_taster else _advice(plan, needed, expected),
    )


def _one_taster(trays: Turnout | None) -> Message:
    if trays is None:
        return say("Say how many trays the one taster gets; five to eight are usual.")
    if not trays.can_decide:
        return say(
            "%(trays)s trays are too few: even all of them right could be luck. Take one or two "
            "more.",
            trays=trays.tasters,
        )
    return say(
        "%(trays)s trays can show that this one taster can tell. They say nothing of how many "
        "others can: they are there to see whether a panel is worth it.",
        trays=trays.tasters,
    )


def _verdict(needed: RatesNeeded | None, expected: Turnout | None, can_answer: bool) -> Message:
    if expected is None:
        return say_needed(needed)
    if not expected.can_decide:
        return say(
            "With %(tasters)s tasters no count at all could convince anybody: the result will be "
            "a count and no verdict. It can still show whether a larger panel is worth it.",
            tasters=expected.tasters,
        )
    if can_answer:
        return say(
            "Yes, this can be answered: with %(tasters)s tasters a difference of this size is "
            "found %(power)s of the time.",
            tasters=expected.tasters,
            power=Share(expected.power),
        )
    return say(
        "Not reliably: with %(tasters)s tasters a difference of this size is found only %(power)s "
        "of the time. If nothing is found, that will not mean that there is nothing.",
        tasters=expected.tasters,
        power=Share(expected.power),
    )


def _advice(
    plan: Plan, needed: RatesNeeded | None, expected: Turnout | None
) -> tuple[Message, ...]:
    if expected is None:
        return ()
    advice = []
    if needed is None or expected.tasters < needed.holding_tasters:
        advice.append(say_needed(needed))
    if expected.smallest_pd is not None:
        advice.append(
            say(
                "%(tasters)s tasters find a difference %(target)s of the time if at least "
                "%(pd)s of people can truly tell the drinks apart.",
                tasters=expected.tasters,
                target=Share(float(1 - plan.beta)),
                pd=Share(expected.smallest_pd),
            )
        )
    if expected.tasters < plan.tasters:
        advice.append(
            say(
                "You plan %(planned)s and expect %(expected)s: what is said here holds for "
                "%(expected)s.",
                planned=plan.tasters,
                expected=expected.tasters,
            )
        )
    advice.append(
        say(
            "Reckoned is with tasters who call a drink either way as readily. Who hardly ever says "
            "the one, or the other, tells less: then more are needed."
        )
    )
    return tuple(advice)
