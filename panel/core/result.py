"""The result of a comparison: every finding, their differences, the trays, the cautions, the seal.

What may be published and nothing else: no nickname, no single ballot.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from panel.core.alike import Alike
from panel.core.amendment import Amendment
from panel.core.ballot import Ballot
from panel.core.blinding_kept import Kept, blinding_kept
from panel.core.cautions import Caution, Evidence, cautions_of
from panel.core.comparison import Comparison, Key, Tray
from panel.core.flow import Flow
from panel.core.kinds import AnyDifference, AnyFinding, PlanFacts, facts_of, found_in
from panel.core.outcomes import Group, Outcomes, outcomes_of
from panel.core.repeats import Repeats
from panel.core.sight_of_key import Sighted
from panel.core.steps_compared import StepsCompared


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

    findings: tuple[AnyFinding, ...]
    differences: tuple[AnyDifference, ...]
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

    def of(self, group: Group) -> tuple[AnyFinding, ...]:
        """The findings of a group."""
        return tuple(finding for finding in self.findings if finding.group is group)

    @property
    def main(self) -> AnyFinding | None:
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
    found = found_in(comparison, outcomes)
    kept = blinding_kept(comparison, sighted, outcomes.reached)
    changes = tuple(sorted(amendments, key=lambda amendment: amendment.number))
    evidence = Evidence(
        comparison=comparison,
        outcomes=outcomes,
        findings=found.findings,
        amendments=changes,
        revealed=revealed,
        sighted=sighted,
        blinding=kept,
    )
    return Result(
        findings=found.findings,
        differences=found.differences,
        cautions=cautions_of(evidence),
        flow=outcomes.flow,
        flows=outcomes.flows,
        late=_late(outcomes),
        amendments=changes,
        plan=facts_of(comparison.plan),
        seal=_seal_facts(comparison),
        sighted=sighted,
        blinding=kept,
        repeats=found.repeats,
        alike=found.alike,
        steps=found.steps,
    )


def _late(outcomes: Outcomes) -> tuple[Late, ...]:
    return tuple(Late(tray=judged.tray, received=judged.received) for judged in outcomes.late)


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
