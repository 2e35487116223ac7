"""What a plan can answer with the people at hand: numbers first, then the sentence that says it.

Of forced choices; `core.kinds` asks the planning that belongs to a method.
"""

from dataclasses import dataclass
from fractions import Fraction

from panel.core import statistics
from panel.core.errors import PanelError
from panel.core.message import Message, Share, say
from panel.core.methods import ForcedChoice, Method, forced_choice
from panel.core.names import Aim
from panel.core.plan import Plan
from panel.core.statistics.detection_results import RatesNeeded
from panel.core.statistics.results import PlanNumbers, SimilarityLimit

MOST_LOOKS = 1_000
"""Ballots up to which it is said what looking after each of them would do."""


@dataclass(frozen=True, kw_only=True)
class Turnout:
    """What so many ballots can decide.

    `decisive` is the critical number (similarity: the largest count that still shows it), None
    where no one count decides, as in methods of another kind; `can_decide`: whether any outcome
    does. `power` is in 0..1: the chance of finding the difference planned for
    (similarity: of showing it when there is none). `smallest_pd`: the smallest proportion of
    discriminators found with the power planned for; None for similarity.
    """

    tasters: int
    decisive: int | None
    power: float
    smallest_pd: float | None
    can_decide: bool


@dataclass(frozen=True, kw_only=True)
class Outlook:
    """Whether a plan can answer its question. `planned` and `expected` are None without tasters.

    `needed` is None where more tasters would be needed than can be computed.
    """

    needed: PlanNumbers | RatesNeeded | None
    target: float
    planned: Turnout | None
    expected: Turnout | None
    can_answer: bool
    verdict: Message
    advice: tuple[Message, ...]


def sides_of(plan: Plan, method: Method) -> int:
    """The plan's sides where the method allows them, else the method's own."""
    return plan.sides if plan.sides in method.sides else method.sides[0]


def planned_pc(plan: Plan, method: ForcedChoice) -> Fraction:
    """Proportion correct at the smallest difference that matters, chance < pc <= 1.

    PanelError (code "no-difference") unless exactly one of pd and d-prime is given.
    """
    difference_given(plan)
    if plan.pd is not None:
        return statistics.pc_at_pd(method.chance, plan.pd)
    assert plan.d_prime is not None  # by the exclusive or above
    return statistics.pc_at_d_prime(method.link, plan.d_prime)


def difference_given(plan: Plan) -> None:
    """PanelError (code "no-difference") unless exactly one of pd and d-prime is given."""
    if (plan.pd is None) == (plan.d_prime is None):
        raise PanelError(
            "no-difference",
            say(
                "Say how large a difference matters: either the share of tasters who can truly "
                "tell apart, or a d-prime, not both."
            ),
            field="pd",
        )


def tasters_needed(plan: Plan, method: ForcedChoice, pc: Fraction) -> PlanNumbers | None:
    """First and holding number of tasters for a method at `pc`; None if too many to compute."""
    sides = sides_of(plan, method)
    try:
        if plan.aim is Aim.SIMILARITY:
            limit = SimilarityLimit(pc, Fraction(plan.beta))
            return statistics.plan_similarity(method.chance, plan.alpha, limit, sides)
        return statistics.plan_difference(method.chance, plan.alpha, plan.beta, pc, sides)
    except PanelError as refusal:
        if refusal.code != "plan-too-large":
            raise
        return None


def outlook(plan: Plan, *, one_taster: bool = False) -> Outlook:
    """Tasters needed, what the planned and the expected turnout can decide, and a plain verdict.

    one_taster: all that is planned are trays of one taster, as in a kitchen-table test.
    """
    method = forced_choice(plan.method)
    pc = planned_pc(plan, method)
    needed = tasters_needed(plan, method, pc)
    coming = plan.tasters if plan.expected is None else plan.expected
    planned = turnout(plan, method, pc, plan.tasters)
    expected = planned if coming == plan.tasters else turnout(plan, method, pc, coming)
    target = float(1 - plan.beta)
    if one_taster:
        return _kitchen_table(plan, planned, target)
    can_answer = expected is not None and expected.decisive is not None and _enough(plan, expected)
    return Outlook(
        needed=needed,
        target=target,
        planned=planned,
        expected=expected,
        can_answer=can_answer,
        verdict=_verdict(plan, needed, expected, can_answer),
        advice=_advice(plan, needed, planned, expected),
    )


def _kitchen_table(plan: Plan, trays: Turnout | None, target: float) -> Outlook:
    """What one taster's trays can say: something of that taster, nothing of how many can tell."""
    if trays is None:
        verdict = say("Say how many trays the one taster gets; five to eight are usual.")
    elif plan.aim is Aim.PREFERENCE:
        verdict = say(
            "%(trays)s trays of one taster tell what this one likes better, and nothing of what "
            "others would.",
            trays=trays.tasters,
        )
    elif plan.aim is Aim.SIMILARITY:
        verdict = _one_taster_alike(trays)
    elif trays.decisive is None:
        verdict = say(
            "%(trays)s trays are too few: even all of them right could be luck. Take one or two "
            "more.",
            trays=trays.tasters,
        )
    else:
        verdict = say(
            "%(decisive)s right of %(trays)s trays would show that this one taster can tell. It "
            "says nothing of how many others can: it is there to see whether a panel is worth it.",
            decisive=trays.decisive,
            trays=trays.tasters,
        )
    return Outlook(
        needed=None,
        target=target,
        planned=trays,
        expected=trays,
        can_answer=trays is not None and trays.decisive is not None,
        verdict=verdict,
        advice=(),
    )


def _one_taster_alike(trays: Turnout) -> Message:
    if trays.decisive is None:
        return say(
            "%(trays)s trays are too few: no count of right ones would show that this one taster "
            "can hardly tell.",
            trays=trays.tasters,
        )
    return say(
        "At most %(decisive)s right of %(trays)s trays would show that this one taster can hardly "
        "tell. It says nothing of whether others can.",
        decisive=trays.decisive,
        trays=trays.tasters,
    )


def turnout(plan: Plan, method: ForcedChoice, pc: Fraction, tasters: int) -> Turnout | None:
    """What so many ballots of a plan can decide; None for no tasters."""
    if tasters < 1:
        return None
    sides = sides_of(plan, method)
    if plan.aim is Aim.SIMILARITY:
        most = statistics.max_correct(tasters, pc, plan.beta)
        if most is not None and most < tasters * method.chance:
            most = None  # below chance no similarity is concluded (ISO 4120:2004, 8.2)
        power = (
            0.0
            if most is None
            else statistics.power_of_similarity(most, tasters, method.chance, sides)
        )
        return Turnout(
            tasters=tasters,
            decisive=most,
            power=power,
            smallest_pd=None,
            can_decide=most is not None,
        )
    critical = statistics.critical_number(tasters, method.chance, plan.alpha, sides)
    return Turnout(
        tasters=tasters,
        decisive=critical,
        power=statistics.power_at(tasters, method.chance, plan.alpha, pc, sides),
        smallest_pd=statistics.smallest_detectable(
            tasters, method.chance, plan.alpha, 1 - Fraction(plan.beta), sides
        ),
        can_decide=critical is not None,
    )


def _enough(plan: Plan, expected: Turnout) -> bool:
    wanted = 1 - (plan.alpha if plan.aim is Aim.SIMILARITY else plan.beta)
    return expected.power >= float(wanted)


def _verdict(
    plan: Plan, needed: PlanNumbers | None, expected: Turnout | None, can_answer: bool
) -> Message:
    if expected is None:
        return say_needed(needed)
    if expected.decisive is None:
        return say(
            "With %(tasters)s tasters no count at all could convince anybody: the result will be "
            "a count and no verdict. It can still show whether a larger panel is worth it.",
            tasters=expected.tasters,
        )
    if plan.aim is Aim.SIMILARITY:
        return _verdict_of_similarity(expected, can_answer)
    if can_answer:
        return say(
            "Yes, this can be answered: with %(tasters)s tasters a difference of this size is "
            "found %(power)s of the time, and %(decisive)s right answers decide.",
            tasters=expected.tasters,
            power=Share(expected.power),
            decisive=expected.decisive,
        )
    if expected.decisive == expected.tasters:
        return say(
            "Hardly: with %(tasters)s tasters only all of them right would do.",
            tasters=expected.tasters,
        )
    return say(
        "Not reliably: with %(tasters)s tasters a difference of this size is found only %(power)s "
        "of the time. If nothing is found, that will not mean that there is nothing.",
        tasters=expected.tasters,
        power=Share(expected.power),
    )


def _verdict_of_similarity(expected: Turnout, can_answer: bool) -> Message:
    assert expected.decisive is not None  # the caller has dealt with it
    if can_answer:
        return say(
            "Yes, this can be answered: if nobody can tell, %(tasters)s tasters show it %(power)s "
            "of the time, with at most %(decisive)s right answers.",
            tasters=expected.tasters,
            power=Share(expected.power),
            decisive=expected.decisive,
        )
    return say(
        "Not reliably: even if nobody can tell, %(tasters)s tasters show it only %(power)s of the "
        "time (at most %(decisive)s right answers).",
        tasters=expected.tasters,
        power=Share(expected.power),
        decisive=expected.decisive,
    )


def say_needed(needed: PlanNumbers | RatesNeeded | None) -> Message:
    """How many are needed, and what tables print."""
    if needed is None:
        return say(
            "No panel is large enough for a difference this small. Look for a larger one, or "
            "accept larger risks."
        )
    return say(
        "%(holding)s tasters are needed; from there on more tasters never make it worse. (Tables "
        "print %(first)s, the first number that is enough.)",
        holding=needed.holding_tasters,
        first=needed.first_tasters,
    )


def _advice(
    plan: Plan, needed: PlanNumbers | None, planned: Turnout | None, expected: Turnout | None
) -> tuple[Message, ...]:
    advice: list[Message] = []
    if expected is not None and (needed is None or expected.tasters < needed.holding_tasters):
        advice.append(say_needed(needed))
    if expected is not None and expected.smallest_pd is not None and expected.smallest_pd < 1:
        advice.append(
            say(
                "%(tasters)s tasters find a difference %(target)s of the time if at least "
                "%(pd)s of people can truly tell the drinks apart.",
                tasters=expected.tasters,
                target=Share(float(1 - plan.beta)),
                pd=Share(expected.smallest_pd),
            )
        )
    if planned is not None and expected is not None and expected.tasters < planned.tasters:
        advice.append(
            say(
                "You plan %(planned)s and expect %(expected)s: what is said here holds for "
                "%(expected)s.",
                planned=planned.tasters,
                expected=expected.tasters,
            )
        )
    return (*advice, *_no_looking(plan, expected))


def looking_often(plan: Plan, tasters: int) -> float:
    """How often panels that cannot tell pass the rule, if somebody looks after every ballot up to
    so many and stops when it is reached. One side; exact."""
    method = forced_choice(plan.method)
    pc = planned_pc(plan, method)
    marks = statistics.power_curve(1, tasters, method.chance, plan.alpha, pc).critical_numbers
    return statistics.looked_at(marks, float(method.chance))[-1]


def _no_looking(plan: Plan, expected: Turnout | None) -> tuple[Message, ...]:
    """Why tallies stay shut, in the numbers of this plan; nothing where it could not do harm."""
    if plan.aim is not Aim.DIFFERENCE or sides_of(plan, forced_choice(plan.method)) == 2:
        return ()
    if expected is None or expected.decisive is None or expected.tasters > MOST_LOOKS:
        return ()
    often = looking_often(plan, expected.tasters)
    if often <= float(plan.alpha):
        return ()
    return (
        say(
            "The tallies stay shut until closing: whoever looked after every ballot and stopped "
            "when the mark is reached would find a difference in %(often)s of panels of "
            "%(tasters)s that cannot tell at all, where %(alpha)s are accepted.",
            often=Share(often),
            tasters=expected.tasters,
            alpha=Share(float(plan.alpha), 0 if 100 * plan.alpha % 1 == 0 else 1),
        ),
    )
