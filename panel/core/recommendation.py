"""Which method fits a question, and what each method would need for the same question.

The same question means the same distance between the drinks: a proportion of discriminators is a
test's own measure, so it is first turned into d-prime by the plan's method and from there into
each other method's proportion of right answers.
"""

from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction
from typing import assert_never

from panel.core import statistics
from panel.core.detection_planning import planned_distance, planned_rates, rates_needed
from panel.core.message import Message, say
from panel.core.methods import METHODS, Detection, ForcedChoice, Method, Ranking, method_named
from panel.core.names import Aim
from panel.core.plan import Plan
from panel.core.planning import planned_pc, tasters_needed
from panel.core.quantities import SPILL_PERCENT, most_cups
from panel.core.ranking_planning import tasters_to_rank
from panel.core.statistics.detection_results import RatesNeeded
from panel.core.statistics.results import PlanNumbers

Needed = PlanNumbers | RatesNeeded | None

MANY_CUPS = 4
"""More cups than this on a tray tire a taster of beer (common practice, no source)."""


@dataclass(frozen=True, kw_only=True)
class MethodNeed:
    """What one method needs for the question, at its holding number of tasters.

    `millilitres_each` is the drink of the beer that needs more, with spill and without run-off.
    All numbers are None where no number of tasters would do. `enough_people` compares with the
    expected turnout; None where none is given. `caution`: what speaks against so many cups.
    """

    method: str
    name: Message
    cups_each: int
    tasters: int | None
    first_tasters: int | None
    cups: int | None
    millilitres_each: int | None
    enough_people: bool | None
    caution: Message | None = None


@dataclass(frozen=True, kw_only=True)
class Recommendation:
    """A method with its reason, and the table of all that could answer the question."""

    method: str
    reason: Message
    table: tuple[MethodNeed, ...]


def recommend(plan: Plan, *, millilitres: int = 50) -> Recommendation:
    """The method for the question that `plan` asks, and what each method needs for it.

    Of the plan are used: aim, risks, difference (as its method measures it), attribute and
    stronger beer if known, expected (else planned) tasters, and whether the taste lingers (bitter,
    sour, smoky, strong, hot), so few cups. millilitres in a cup.
    """
    distance = _distance(plan, method_named(plan.method))
    table = tuple(
        _need(plan, method, _needed(plan, method, distance), millilitres)
        for method in METHODS.values()
        if plan.aim in method.aims and _can_be_asked(plan, method)
    )
    method, reason = _choose(plan, {need.method: need for need in table})
    return Recommendation(method=method, reason=reason, table=table)


def easier(plan: Plan, advised: Recommendation) -> MethodNeed | None:
    """A test that answers a plan's question with fewer tasters, where more are needed than come.

    The one of the fewest cups for which enough come, else that of the fewest tasters; None where
    the plan's own is enough. A taste that lingers asks for no more cups than now, and none is
    offered with more than MANY_CUPS, nor one in which people have to keep a line in their heads:
    those are for whoever chooses them knowing why.
    """
    needs = {need.method: need for need in advised.table}
    own = needs.get(plan.method)
    if own is None or own.enough_people in (True, None):
        return None
    others = [
        need
        for need in advised.table
        if need.tasters is not None
        and isinstance(METHODS[need.method], ForcedChoice)
        and (own.tasters is None or need.tasters < own.tasters)
        and need.cups_each <= max(own.cups_each, 0 if plan.lingers else MANY_CUPS)
    ]
    enough = [need for need in others if need.enough_people]
    if enough:
        return min(enough, key=lambda need: (need.cups_each, need.tasters))
    return min(others, key=lambda need: need.tasters or 0, default=None)


def asked_with(plan: Plan, method: Method) -> Plan:
    """The plan with another method, for the same difference, on the sides that one is asked on."""
    sides = _sided(plan, method).sides
    return replace(same_difference(plan, method), sides=sides)


def same_difference(plan: Plan, method: Method) -> Plan:
    """The plan asked with another method, the drinks as far apart as before.

    A share of discriminators is the plan's own method's measure: under another it becomes the
    d-prime that it stands for, rounded to hundredths. It stays a share where the link is the same
    or no d-prime is large enough.
    """
    own = method_named(plan.method)
    asked = replace(plan, method=method.id)
    if plan.pd is None or _rule(method) == _rule(own):
        return asked
    distance = _distance(plan, own)
    if distance is None:
        return asked
    return replace(asked, pd=None, d_prime=Decimal(f"{distance:.2f}"))


def _rule(method: Method) -> str:
    """By which rule a share becomes a d-prime."""
    match method:
        case ForcedChoice():
            return method.link
        case Detection():
            return method.line
        case Ranking():
            return method.id
        case _:
            assert_never(method)


def _distance(plan: Plan, own: Method) -> float | None:
    """The d-prime that a plan means by its own method; None where it has no bound."""
    if plan.d_prime is not None:
        return float(plan.d_prime)
    match own:
        case ForcedChoice():
            return statistics.d_prime_from_pc(own.link, planned_pc(plan, own))
        case Detection():
            return planned_distance(plan, own)
        case Ranking():
            return None
        case _:
            assert_never(own)


def _needed(plan: Plan, method: Method, distance: float | None) -> Needed:
    """Tasters that a method needs at a distance; the plan's own at its own size."""
    own = method.id == plan.method
    asked = _sided(plan, method)
    match method:
        case ForcedChoice():
            pc = planned_pc(plan, method) if own else _pc(method, distance)
            return None if pc is None else tasters_needed(asked, method, pc)
        case Detection():
            if own:
                return rates_needed(asked, method, planned_rates(plan, method))
            if distance is None:
                return None
            return rates_needed(asked, method, statistics.rates_at(method.line, distance))
        case Ranking():
            return tasters_to_rank(asked) if own and method.orders(plan) else None
        case _:
            assert_never(method)


def _pc(method: ForcedChoice, distance: float | None) -> Fraction | None:
    """At a distance; None where it is too small to leave guessing (or has no bound: all right)."""
    if distance is None:
        return Fraction(1)
    pc = Fraction(statistics.proportion_correct(method.link, distance))
    return pc if pc > method.chance else None


def _can_be_asked(plan: Plan, method: Method) -> bool:
    if not method.beers <= plan.drinks <= max(method.beers, method.most_beers):
        return False
    if not method.directional:
        return True
    return bool(plan.attribute) and (bool(plan.stronger) or 2 in method.sides)


def _need(plan: Plan, method: Method, numbers: Needed, millilitres: int) -> MethodNeed:
    asked = _sided(plan, method)
    tasters = None if numbers is None else numbers.holding_tasters
    people = plan.tasters if plan.expected is None else plan.expected
    return MethodNeed(
        method=method.id,
        name=method.name,
        cups_each=method.cups_of(plan),
        tasters=tasters,
        first_tasters=None if numbers is None else numbers.first_tasters,
        cups=None if tasters is None else tasters * method.cups_of(plan),
        millilitres_each=None
        if tasters is None
        else _millilitres_each(asked, method, tasters, millilitres),
        enough_people=None if people < 1 else tasters is not None and people >= tasters,
        caution=_many_cups(plan, method, millilitres),
    )


def _many_cups(plan: Plan, method: Method, millilitres: int) -> Message | None:
    """What many cups mean for a taster; None up to MANY_CUPS of them."""
    if method.cups_of(plan) <= MANY_CUPS:
        return None
    if plan.lingers:
        return say(
            "%(cups)s cups are too many for a taste that lingers: each cup is tasted through the "
            "one before.",
            cups=method.cups_of(plan),
        )
    return say(
        "%(cups)s cups are %(millilitres)s ml with all their alcohol, and each lingers into the "
        "next. Let people spit, rinse and rest.",
        cups=method.cups_of(plan),
        millilitres=method.cups_of(plan) * millilitres,
    )


def _sided(plan: Plan, method: Method) -> Plan:
    """One-sided where the stronger beer is named beforehand, else two where the method can."""
    sides = 1 if plan.stronger and 1 in method.sides else method.sides[-1]
    return replace(plan, method=method.id, sides=sides)


def _millilitres_each(plan: Plan, method: Method, tasters: int, millilitres: int) -> int:
    cups = most_cups(method.orders(plan), tasters)
    poured = max(cups.values()) * millilitres
    return -(-poured * (100 + SPILL_PERCENT) // 100)


def _choose(plan: Plan, needs: dict[str, MethodNeed]) -> tuple[str, Message]:
    if plan.drinks > 2:
        return "ranking", say(
            "You compare more than two: each taster puts them in order, by liking or by the one "
            "thing that you name."
        )
    if plan.aim is Aim.PREFERENCE:
        return "paired-preference", say(
            "You ask what people like better, not whether they can tell: two cups and one choice."
        )
    if plan.attribute and plan.stronger:
        return _directional(needs, plan.lingers)
    if plan.attribute:
        return "paired", say(
            "You can name what changed but not which drink has more of it: two cups, asked both "
            "ways. Every taster is told what to look for, and the result says so."
        )
    if plan.lingers:
        return "duo-trio", say(
            "The taste lingers, so the comparison is made easy: a reference first, then two cups. "
            "It needs more tasters than a triangle. If you can name what changed, the paired "
            "comparison spares a cup."
        )
    if _only_this_fits("tetrad", "triangle", needs):
        return "tetrad", say(
            "You have too few tasters for a triangle and enough for a tetrad: one cup more each, "
            "and about a third of the people for the same question."
        )
    return "triangle", say(
        "You want to know whether the change can be tasted at all and do not name it: the "
        "triangle is the usual test, and nobody needs to be told anything."
    )


def _directional(needs: dict[str, MethodNeed], lingers: bool) -> tuple[str, Message]:
    if lingers:
        return "paired", say(
            "You know what should have changed and in which drink, and the taste lingers: two "
            "cups are enough. Every taster is told what to look for, and the result says so."
        )
    if _only_this_fits("tetrad-specified", "3-afc", needs):
        return "tetrad-specified", say(
            "You know what should have changed and in which drink, and have few tasters: four "
            "cups with the attribute named need the fewest people of all. The result says that "
            "tasters were told what to look for."
        )
    return "3-afc", say(
        "You know what should have changed and in which drink: asking for the one cup with more "
        "of it needs far fewer people than a triangle with the same cups. The result says that "
        "tasters were told what to look for."
    )


def _only_this_fits(this: str, usual: str, needs: dict[str, MethodNeed]) -> bool:
    return needs[this].enough_people is True and needs[usual].enough_people is False
