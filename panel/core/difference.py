"""What knowing does: the informed held against the blinded, never added to them.

That one group passes its test and the other does not is no difference between them (Gelman & Stern
2006, The American Statistician 60:328–331); the difference itself is estimated and tested.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from panel.core import statistics
from panel.core.comparison import Comparison, Sitting
from panel.core.findings import CONFIDENCE, Finding, Verdict
from panel.core.names import Information, SittingKind
from panel.core.outcomes import Group
from panel.core.statistics.results import TwoByTwo

_OPPOSITE = (
    {Verdict.SHOWN, Verdict.NOT_SHOWN},
    {Verdict.SIMILAR, Verdict.NOT_SIMILAR},
)


@dataclass(frozen=True, kw_only=True)
class Difference:
    """Informed share minus blinded share, Newcombe's interval, Boschloo's exact two-sided p-value.

    Counts are of right answers and of tasters who chose. `drawn`: who was informed was drawn by
    lot; then the blinded are compared as they were drawn, with those who were told at the table.
    `verdicts_differ`: the two findings have opposite verdicts, which is no difference in itself.
    """

    informed_correct: int
    informed_tasters: int
    blinded_correct: int
    blinded_tasters: int
    compared: TwoByTwo
    drawn: bool
    verdicts_differ: bool

    def strong(self, alpha: float) -> bool:
        """Whether this is strong evidence, at that risk, that knowing changes what people find."""
        return self.compared.p_value <= alpha


def difference_of(comparison: Comparison, findings: Iterable[Finding]) -> Difference | None:
    """None unless there are exactly one blinded and one informed group, both with tasters.

    Sittings that the plan keeps apart leave more groups, and no single difference to speak of.
    """
    known = tuple(findings)
    blinded = [finding for finding in known if finding.group is Group.BLINDED]
    informed = [finding for finding in known if finding.group is Group.INFORMED]
    if len(blinded) != 1 or len(informed) != 1:
        return None
    drawn = groups_drawn(comparison)
    one, other = informed[0], blinded[0]
    as_drawn = (other.with_told or other) if drawn else other
    if not one.tasters or not as_drawn.tasters:
        return None
    return Difference(
        informed_correct=one.correct,
        informed_tasters=one.tasters,
        blinded_correct=as_drawn.correct,
        blinded_tasters=as_drawn.tasters,
        compared=statistics.compare_groups(
            one.correct, one.tasters, as_drawn.correct, as_drawn.tasters, CONFIDENCE
        ),
        drawn=drawn,
        verdicts_differ={one.verdict, other.verdict} in _OPPOSITE,
    )


def groups_drawn(comparison: Comparison) -> bool:
    """Whether lots decided, in every sitting, who was informed and who was not."""
    groups = _tables(comparison)
    return bool(groups) and all(map(_by_lot, groups))


def some_groups_drawn(comparison: Comparison) -> bool:
    """Whether lots decided it in some sittings and in others not."""
    lots = set(map(_by_lot, _tables(comparison)))
    return lots == {True, False}


def _by_lot(sitting: Sitting) -> bool:
    return sitting.information is Information.SPLIT or sitting.groups_drawn


def _tables(comparison: Comparison) -> list[Sitting]:
    return [sitting for sitting in comparison.sittings if sitting.kind is not SittingKind.REPEAT]
