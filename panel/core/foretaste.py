"""A foretaste: simulated tasters of a plan, before anything is printed.

An evening is simulated by the model behind every plan: each taster truly tells the drinks apart
with probability pd and is right, or guesses and is right by chance. Who is right by luck looks to
the organiser like who can tell; here, for once, both are known. How often a truth would be shown
is no simulation: it is the plan's exact power.
"""

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from panel.core.guessing import guessing_distribution
from panel.core.methods import ForcedChoice, method_named
from panel.core.names import Aim
from panel.core.plan import Plan
from panel.core.planning import Turnout, planned_pc, sides_of, turnout

EVENINGS = 40
"""Evenings whose counts are shown side by side, beside the one that is shown taster by taster."""

CLEAREST = Fraction(9, 10)
"""Even of a gross difference some say nothing right: nobody plans with all of them."""


class Truth(StrEnum):
    """How it really is, in a simulated world."""

    NONE = "none"
    FAINT = "faint"
    PLANNED = "planned"
    CLEAR = "clear"


class Told(StrEnum):
    """Why a taster's answer came out as it did: known to a simulation alone."""

    KNEW = "could tell"
    LUCK = "right by luck"
    WRONG = "wrong"


@dataclass(frozen=True, kw_only=True)
class Evening:
    """One simulated world. `pd`: the share of people who can truly tell, 0..1. `tasters`: what came
    of each in one evening. `counts`: right answers of EVENINGS other evenings. `shown`: the exact
    chance, 0..1, that an evening shows what the plan asks for."""

    truth: Truth
    pd: Fraction
    tasters: tuple[Told, ...]
    counts: tuple[int, ...]
    shown: float

    def of(self, told: Told) -> int:
        """How many tasters came out so."""
        return sum(one is told for one in self.tasters)

    @property
    def right(self) -> int:
        """Right answers of the evening shown."""
        return len(self.tasters) - self.of(Told.WRONG)


@dataclass(frozen=True, kw_only=True)
class Rule:
    """Which counts of right answers show what the plan asks for."""

    aim: Aim
    sides: int
    turnout: Turnout

    def decides(self, right: int) -> bool:
        """Whether so many right answers show it."""
        decisive, of = self.turnout.decisive, self.turnout.tasters
        if decisive is None:
            return False
        larger = max(right, of - right) if self.sides == 2 else right
        return larger <= decisive if self.aim is Aim.SIMILARITY else larger >= decisive


@dataclass(frozen=True, kw_only=True)
class Foretaste:
    """Four worlds under one plan and its rule, the same number of tasters in each."""

    rule: Rule
    evenings: tuple[Evening, ...]


def foretaste(plan: Plan, lots: Callable[[], float]) -> Foretaste | None:
    """Simulated evenings of a plan with as many tasters as are expected; None without tasters.

    lots: gives one number after the other, even in 0..1, 1 left out. PanelError as `planned_pc`.
    """
    method = method_named(plan.method)
    if not isinstance(method, ForcedChoice):
        return None  # there is no one count of right answers to be shown
    pc = planned_pc(plan, method)
    coming = plan.tasters if plan.expected is None else plan.expected
    turned_out = turnout(plan, method, pc, coming)
    if turned_out is None:
        return None
    planned = (pc - method.chance) / (1 - method.chance)
    shares = {
        Truth.NONE: Fraction(0),
        Truth.FAINT: planned / 2,
        Truth.PLANNED: planned,
        Truth.CLEAR: max(planned, min(2 * planned, CLEAREST)),
    }
    rule = Rule(aim=plan.aim, sides=sides_of(plan, method), turnout=turned_out)
    return Foretaste(
        rule=rule,
        evenings=tuple(
            _evening(rule, method.chance, truth, pd, lots) for truth, pd in shares.items()
        ),
    )


def _evening(
    rule: Rule, chance: Fraction, truth: Truth, pd: Fraction, lots: Callable[[], float]
) -> Evening:
    number = rule.turnout.tasters

    def taster() -> Told:
        if lots() < pd:
            return Told.KNEW
        return Told.LUCK if lots() < chance else Told.WRONG

    tasters = tuple(taster() for _ in range(number))
    counts = tuple(sum(taster() is not Told.WRONG for _ in range(number)) for _ in range(EVENINGS))
    shown = _shown(rule, chance + pd * (1 - chance))
    return Evening(truth=truth, pd=pd, tasters=tasters, counts=counts, shown=shown)


def _shown(rule: Rule, pc: Fraction) -> float:
    """The chance of a count that decides: the sum over all of them, whichever the rule."""
    number = rule.turnout.tasters
    if pc == 1:
        return float(rule.decides(number))
    chances = guessing_distribution(number, pc)
    return sum(chance for right, chance in enumerate(chances) if rule.decides(right))
