"""What knowing does to hits and false alarms: the informed held against the blinded.

As `core.difference`, where the same is asked of right answers; which sittings may be held against
each other is decided there.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from panel.core import statistics
from panel.core.comparison import Comparison, Sitting
from panel.core.detection import DetectionFinding, rates_of
from panel.core.difference import OPPOSITE, Basis, sets_compared
from panel.core.findings import CONFIDENCE
from panel.core.methods import Detection
from panel.core.outcomes import Group, Outcomes
from panel.core.statistics.detection_results import Rates
from panel.core.statistics.rate_groups import RatesBetween


@dataclass(frozen=True, kw_only=True)
class DetectionDifference:
    """The informed's hit rate minus false-alarm rate, minus the blinded's.

    Where the groups were `drawn`, the blinded are compared as they were drawn, with those who were
    told at the table. `whole`: no other taster's ballot stands in the two findings.
    `verdicts_differ`: the two findings have opposite verdicts, which is no difference in itself.
    """

    basis: Basis
    sittings: tuple[str, ...]
    informed: Rates
    blinded: Rates
    compared: RatesBetween
    whole: bool
    verdicts_differ: bool

    @property
    def drawn(self) -> bool:
        """Whether lots decided who was informed."""
        return self.basis is not Basis.NOT_DRAWN

    def strong(self, alpha: float) -> bool:
        """Whether this is strong evidence, at that risk, that knowing changes what people find."""
        return self.compared.p_value <= alpha


def detection_differences(
    comparison: Comparison,
    method: Detection,
    outcomes: Outcomes,
    findings: Iterable[DetectionFinding],
) -> tuple[DetectionDifference, ...]:
    """A difference for each set of sittings that has both groups with answers of both kinds."""
    known = tuple(findings)
    made = (
        _difference(comparison, method, outcomes, known, basis, sittings)
        for basis, sittings in sets_compared(comparison)
    )
    return tuple(one for one in made if one is not None)


def _difference(
    comparison: Comparison,
    method: Detection,
    outcomes: Outcomes,
    findings: tuple[DetectionFinding, ...],
    basis: Basis,
    sittings: tuple[Sitting, ...],
) -> DetectionDifference | None:
    ids = tuple(sitting.id for sitting in sittings)
    as_blinded = {Group.BLINDED} if basis is Basis.NOT_DRAWN else {Group.BLINDED, Group.TOLD}

    def counted(groups: set[Group]) -> Rates:
        mine = (one for one in outcomes.judged if one.sitting in ids and one.group in groups)
        return rates_of(comparison.plan, method, mine)

    informed, blinded = counted({Group.INFORMED}), counted(as_blinded)
    if not all((informed.targets, informed.others, blinded.targets, blinded.others)):
        return None
    two = [
        one
        for one in findings
        if one.group in (Group.INFORMED, Group.BLINDED) and set(one.sittings) & set(ids)
    ]
    held = {
        one.group: (one.with_told if Group.TOLD in as_blinded and one.with_told else one).rates
        for one in two
    }
    return DetectionDifference(
        basis=basis,
        sittings=ids,
        informed=informed,
        blinded=blinded,
        compared=statistics.rates_between(informed, blinded, CONFIDENCE),
        whole=len(two) == 2 and held == {Group.INFORMED: informed, Group.BLINDED: blinded},
        verdicts_differ={one.verdict for one in two} in OPPOSITE,
    )
