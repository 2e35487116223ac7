"""The one place of the core that asks which kind a method is of.

Planning, findings, the comparison of groups: each kind has its own, and here they are chosen. A
further kind is one more case in every function; mypy names each that lacks it.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import assert_never

from panel.core.alike import Alike, alike_of
from panel.core.comparison import Comparison
from panel.core.detection import DetectionFinding, detections_of
from panel.core.detection_difference import DetectionDifference, detection_differences
from panel.core.detection_planning import detection_outlook, detection_turnout, planned_rates
from panel.core.difference import Difference, differences_of
from panel.core.findings import Finding, findings_of
from panel.core.methods import Detection, ForcedChoice, Ranking, method_named
from panel.core.names import Aim
from panel.core.outcomes import Outcomes
from panel.core.plan import Plan
from panel.core.planning import Outlook, Turnout, outlook, planned_pc, sides_of, turnout
from panel.core.ranking_planning import check_ranking_size, ranking_outlook, ranking_turnout
from panel.core.rankings import RankingFinding, rankings_of
from panel.core.repeats import Repeats, repeats_of
from panel.core.statistics.inputs import check_pc
from panel.core.steps_compared import StepsCompared, steps_compared

AnyFinding = Finding | DetectionFinding | RankingFinding
"""The finding of one stratum, by the kind of its method. All have: id, group, information, method,
sittings, taster, tasters, no_choice, aim, sides, limit, verdict, power, detectable, fewest,
planned, below_guessing, with_told."""

AnyDifference = Difference | DetectionDifference
"""What knowing does, by the kind of method. All have: basis, sittings, drawn, whole,
verdicts_differ, strong()."""


@dataclass(frozen=True, kw_only=True)
class PlanFacts:
    """What was locked: the question, the risks, and what the planned number could have decided.

    `chance`: of being right by guessing, None where no one count is held against it. `limit` is
    the proportion of discriminators that matters; `planned` None where the plan names no number of
    tasters.
    """

    method: str
    aim: Aim
    chance: Fraction | None
    sides: int
    alpha: Decimal
    beta: Decimal
    limit: Fraction
    tasters: int
    planned: Turnout | None


def outlook_of(plan: Plan, *, one_taster: bool = False) -> Outlook:
    """Tasters needed, what the planned and the expected turnout can decide, and a plain verdict."""
    method = method_named(plan.method)
    match method:
        case ForcedChoice():
            return outlook(plan, one_taster=one_taster)
        case Detection():
            return detection_outlook(plan, method, one_taster=one_taster)
        case Ranking():
            return ranking_outlook(plan, one_taster=one_taster)
        case _:
            assert_never(method)


def check_size(plan: Plan) -> None:
    """PanelError unless the difference that matters can be reckoned with."""
    method = method_named(plan.method)
    match method:
        case ForcedChoice():
            check_pc(method.chance, planned_pc(plan, method))
        case Detection():
            hit, alarm = planned_rates(plan, method)
            check_pc(Fraction(1, 2), Fraction(1, 2) + Fraction(hit - alarm) / 2)
        case Ranking():
            check_ranking_size(plan)
        case _:
            assert_never(method)


def facts_of(plan: Plan) -> PlanFacts:
    """What was locked of a plan, in numbers."""
    method = method_named(plan.method)
    match method:
        case ForcedChoice():
            pc = planned_pc(plan, method)
            chance: Fraction | None = method.chance
            limit = (pc - method.chance) / (1 - method.chance)
            planned = turnout(plan, method, pc, plan.tasters)
        case Detection():
            hit, alarm = planned_rates(plan, method)
            chance, limit = None, Fraction(hit - alarm).limit_denominator(10**9)
            planned = detection_turnout(plan, method, plan.tasters)
        case Ranking():
            chance, limit = None, Fraction(plan.pd or 0)
            planned = ranking_turnout(plan, plan.tasters)
        case _:
            assert_never(method)
    return PlanFacts(
        method=method.id,
        aim=plan.aim,
        chance=chance,
        sides=sides_of(plan, method),
        alpha=plan.alpha,
        beta=plan.beta,
        limit=limit,
        tasters=plan.tasters,
        planned=planned,
    )


@dataclass(frozen=True, kw_only=True)
class Found:
    """All that is computed from the counted ballots of a comparison.

    `alike`: parts of one total held together. `repeats`: the repeat trials of several tasters.
    `steps`: nose first, each person's two choices. These three are of forced choices alone.
    """

    findings: tuple[AnyFinding, ...]
    differences: tuple[AnyDifference, ...]
    alike: tuple[Alike, ...] = ()
    repeats: tuple[Repeats, ...] = ()
    steps: tuple[StepsCompared, ...] = ()


def found_in(comparison: Comparison, outcomes: Outcomes) -> Found:
    """Every stratum analysed as its method's kind asks."""
    plan = comparison.plan
    method = method_named(plan.method)
    match method:
        case ForcedChoice():
            findings = findings_of(plan, outcomes)
            return Found(
                findings=findings,
                differences=differences_of(comparison, outcomes, findings),
                alike=alike_of(outcomes.strata),
                repeats=repeats_of(plan, findings),
                steps=steps_compared(plan, outcomes.strata),
            )
        case Detection():
            detected = detections_of(plan, method, outcomes)
            return Found(
                findings=detected,
                differences=detection_differences(comparison, method, outcomes, detected),
            )
        case Ranking():
            return Found(findings=rankings_of(plan, outcomes), differences=())
        case _:
            assert_never(method)


def forced(findings: Iterable[AnyFinding]) -> tuple[Finding, ...]:
    """Those of forced choices: right answers counted against guessing."""
    return tuple(finding for finding in findings if isinstance(finding, Finding))
