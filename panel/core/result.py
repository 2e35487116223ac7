"""The result of a comparison: every finding, their differences, the trays, the cautions, the seal.

What may be published and nothing else: no nickname, no single ballot.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from fractions import Fraction

from panel.core.alike import Alike, alike_of
from panel.core.amendment import Amendment
from panel.core.ballot import Ballot
from panel.core.blinding_kept import Kept, blinding_kept
from panel.core.cautions import Caution, Evidence, cautions_of
from panel.core.comparison import Comparison, Key, Tray
from panel.core.difference import Difference, differences_of
from panel.core.findings import Finding, findings_of
from panel.core.flow import Flow
from panel.core.methods import method_named
from panel.core.names import Aim
from panel.core.outcomes import Group, Outcomes, outcomes_of
from panel.core.planning import Turnout, planned_pc, sides_of, turnout
from panel.core.repeats import Repeats, repeats_of
from panel.core.sight_of_key import Sighted
from panel.core.steps_compared import StepsCompared, steps_compared


@dataclass(frozen=True, kw_only=True)
class PlanFacts:
    """What was locked: the question, the risks, and what the planned number could have decided.

    `limit` is the proportion of discriminators that matters; `planned` None where the plan names
    no number of tasters.
    """

    method: str
    aim: Aim
    chance: Fraction
    sides: int
    alpha: Decimal
    beta: Decimal
    limit: Fraction
    tasters: int
    planned: Turnout | None


@dataclass(frozen=True, kw_only=True)
class SealFacts:
    """When the seal was made and opened (UTC); `before_serving`: made before any sitting opened."""

    digest: str
    made: datetime
    opened: datetime | None
    before_serving: bool


@dataclass(frozen=True, kw_only=True)
class Late:
    """A ballot that came after closing: listed, never counted."""

    tray: int
    received: datetime


@dataclass(frozen=True, kw_only=True)
class Result:
    """Everything that is said of a closed comparison. `blinding`: what each sitting really had;
    `repeats`: the repeat trials of several tasters; `alike`: parts of one total held together;
    `steps`: nose first, each person's two choices held together."""

    findings: tuple[Finding, ...]
    differences: tuple[Difference, ...]
    cautions: tuple[Caution, ...]
    flow: Flow
    flows: tuple[tuple[str, Flow], ...]
    late: tuple[Late, ...]
    amendments: tuple[Amendment, ...]
    plan: PlanFacts
    seal: SealFacts | None
    sighted: tuple[Sighted, ...] = ()
    blinding: tuple[Kept, ...] = ()
    repeats: tuple[Repeats, ...] = ()
    alike: tuple[Alike, ...] = ()
    steps: tuple[StepsCompared, ...] = ()

    def of(self, group: Group) -> tuple[Finding, ...]:
        """The findings of a group."""
        return tuple(finding for finding in self.findings if finding.group is group)

    @property
    def main(self) -> Finding | None:
        """The finding that speaks first: the blinded, else the informed, else repeat trials.

        A group in which nobody chose gives way to one that has tasters.
        """
        order = (Group.BLINDED, Group.INFORMED, Group.REPEAT)
        known = [finding for group in order for finding in self.of(group)]
        counted = [finding for finding in known if finding.tasters]
        return next(iter(counted or known), None)


def result_of(
    comparison: Comparison,
    key: Key,
    trays: Iterable[Tray],
    ballots: Iterable[Ballot],
    amendments: Iterable[Amendment] = (),
    revealed: frozenset[int] = frozenset(),
    informed: frozenset[int] = frozenset(),
    sighted: tuple[Sighted, ...] = (),
) -> Result:
    """The result of a closed comparison.

    key: as opened. trays: all that were drawn, of every sitting. ballots: every copy of every
    tray, late ones too. revealed: numbers of the trays whose own answer was opened before closing.
    informed: numbers of the trays that the lots of split sittings have informed. sighted: who saw
    the key before closing, as the record has it.
    """
    outcomes = outcomes_of(comparison, key, trays, ballots, informed)
    findings = findings_of(comparison.plan, outcomes)
    kept = blinding_kept(comparison, sighted, outcomes.reached)
    changes = tuple(sorted(amendments, key=lambda amendment: amendment.number))
    evidence = Evidence(
        comparison=comparison,
        outcomes=outcomes,
        findings=findings,
        amendments=changes,
        revealed=revealed,
        sighted=sighted,
        blinding=kept,
    )
    return Result(
        findings=findings,
        differences=differences_of(comparison, outcomes, findings),
        cautions=cautions_of(evidence),
        flow=outcomes.flow,
        flows=outcomes.flows,
        late=_late(outcomes),
        amendments=changes,
        plan=_plan_facts(comparison),
        seal=_seal_facts(comparison),
        sighted=sighted,
        blinding=kept,
        repeats=repeats_of(comparison.plan, findings),
        alike=alike_of(outcomes.strata),
        steps=steps_compared(comparison.plan, outcomes.strata),
    )


def _late(outcomes: Outcomes) -> tuple[Late, ...]:
    return tuple(Late(tray=judged.tray, received=judged.received) for judged in outcomes.late)


def _plan_facts(comparison: Comparison) -> PlanFacts:
    plan = comparison.plan
    method = method_named(plan.method)
    pc = planned_pc(plan, method)
    return PlanFacts(
        method=method.id,
        aim=plan.aim,
        chance=method.chance,
        sides=sides_of(plan, method),
        alpha=plan.alpha,
        beta=plan.beta,
        limit=(pc - method.chance) / (1 - method.chance),
        tasters=plan.tasters,
        planned=turnout(plan, method, pc, plan.tasters),
    )


def _seal_facts(comparison: Comparison) -> SealFacts | None:
    if comparison.seal is None:
        return None
    opened = [sitting.opened for sitting in comparison.sittings if sitting.opened is not None]
    return SealFacts(
        digest=comparison.seal.digest,
        made=comparison.seal.made,
        opened=comparison.closed,
        before_serving=all(comparison.seal.made < moment for moment in opened),
    )
