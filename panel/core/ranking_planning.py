"""What a plan can answer whose tasters put cups in order.

The difference that matters is a share of tasters who truly tell, while the others guess: with no
order named they put one and the same drink at an end, with a named order they give all of it.
"""

from fractions import Fraction

from panel.core import statistics
from panel.core.errors import PanelError
from panel.core.message import Message, Share, say
from panel.core.methods.ranking import cups_of, orders
from panel.core.plan import Plan
from panel.core.planning import Outlook, Turnout, difference_given
from panel.core.rankings import can_decide, power_of
from panel.core.statistics.detection_results import RatesNeeded


def check_ranking_size(plan: Plan) -> Fraction:
    """The share who tell that matters; PanelError unless one is given, and not as a d-prime."""
    difference_given(plan)
    if plan.pd is None:
        raise PanelError(
            "ranking-share",
            say("For a ranking say how many in 100 people truly tell, not a d-prime."),
            field="d_prime",
        )
    return statistics.pc_at_pd(Fraction(1, 2), plan.pd)  # refuses what is no share


def tasters_to_rank(plan: Plan) -> RatesNeeded | None:
    """How many tasters have the power planned for; None where it is too many to compute."""
    check_ranking_size(plan)
    assert plan.pd is not None  # just checked
    found = statistics.ranking_tasters(
        plan.drinks,
        cups_of(plan),
        plan.pd,
        plan.alpha,
        1 - Fraction(plan.beta),
        trend=bool(plan.expected_order),
    )
    if found is None:
        return None
    least = next(tasters for tasters in range(found, found + 101) if can_decide(plan, tasters))
    return RatesNeeded(least, least, least, power_of(plan, least) or 0.0)


def ranking_turnout(plan: Plan, tasters: int) -> Turnout | None:
    """What so many ballots of a plan can decide; None for no tasters."""
    check_ranking_size(plan)
    if tasters < 1 or not orders(plan):
        return None
    return Turnout(
        tasters=tasters,
        decisive=None,
        power=power_of(plan, tasters) or 0.0,
        smallest_pd=statistics.ranking_detectable(
            tasters,
            plan.drinks,
            cups_of(plan),
            plan.alpha,
            1 - Fraction(plan.beta),
            trend=bool(plan.expected_order),
        ),
        can_decide=can_decide(plan, min(tasters, 100)),
    )


def ranking_outlook(plan: Plan, *, one_taster: bool = False) -> Outlook:
    """As `planning.outlook`, for a ranking."""
    drawable = bool(orders(plan))
    needed = tasters_to_rank(plan) if drawable else None
    coming = plan.tasters if plan.expected is None else plan.expected
    planned = ranking_turnout(plan, plan.tasters)
    expected = planned if one_taster or coming == plan.tasters else ranking_turnout(plan, coming)
    enough = expected is not None and expected.power >= float(1 - plan.beta)
    can_answer = expected is not None and expected.can_decide and (one_taster or enough)
    if not drawable:
        verdict: Message = say("Name the drinks first: three to eight can be put in order.")
    elif one_taster:
        verdict = _one_taster(planned)
    else:
        verdict = _verdict(needed, expected, can_answer)
    return Outlook(
        needed=None if one_taster else needed,
        target=float(1 - plan.beta),
        planned=planned,
        expected=expected,
        can_answer=can_answer,
        verdict=verdict,
        advice=() if one_taster or not drawable else _advice(plan, needed, expected),
    )


def _one_taster(trays: Turnout | None) -> Message:
    if trays is None:
        return say("Say how many trays the one taster gets; five to eight are usual.")
    if not trays.can_decide:
        return say(
            "%(trays)s trays are too few: even one and the same order on all of them could be "
            "luck. Take one or two more.",
            trays=trays.tasters,
        )
    return say(
        "%(trays)s trays can show that this one taster orders them alike again and again, and "
        "nothing of what others would do.",
        trays=trays.tasters,
    )


def _verdict(needed: RatesNeeded | None, expected: Turnout | None, can_answer: bool) -> Message:
    if expected is None:
        return _say_needed(needed)
    if not expected.can_decide:
        return say(
            "With %(tasters)s tasters not even one and the same order from all could convince "
            "anybody: the result will be places and no verdict.",
            tasters=expected.tasters,
        )
    if can_answer:
        return say(
            "Yes, this can be answered: with %(tasters)s tasters a difference of this size is "
            "found about %(power)s of the time.",
            tasters=expected.tasters,
            power=Share(expected.power),
        )
    return say(
        "Not reliably: with %(tasters)s tasters a difference of this size is found only about "
        "%(power)s of the time. If nothing is found, that will not mean that there is nothing.",
        tasters=expected.tasters,
        power=Share(expected.power),
    )


def _say_needed(needed: RatesNeeded | None) -> Message:
    if needed is None:
        return say(
            "No panel is large enough for a difference this small. Look for a larger one, or "
            "accept larger risks."
        )
    return say(
        "About %(tasters)s tasters are needed, by a formula that is good to some tasters.",
        tasters=needed.holding_tasters,
    )


def _advice(
    plan: Plan, needed: RatesNeeded | None, expected: Turnout | None
) -> tuple[Message, ...]:
    complete = len(orders(plan))
    advice = []
    if expected is not None and (needed is None or expected.tasters < needed.holding_tasters):
        advice.append(_say_needed(needed))
    if expected is not None and expected.smallest_pd is not None:
        advice.append(
            say(
                "%(tasters)s tasters find a difference %(target)s of the time if at least "
                "%(pd)s of them truly tell one drink from the others.",
                tasters=expected.tasters,
                target=Share(float(1 - plan.beta)),
                pd=Share(expected.smallest_pd),
            )
        )
    if plan.tasters % complete:
        advice.append(
            say(
                "Orders are wholly balanced with %(trays)s trays, or a multiple of it. Other "
                "numbers are as near to it as can be.",
                trays=complete,
            )
        )
    return tuple(advice)
