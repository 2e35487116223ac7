"""Nose first: what changed between the choice by smell and the choice after tasting, per person.

Two choices of one taster are no two tasters: they are held together person by person, in one
stratum at a time. Whether tasting helped is asked of those whose being right changed: by chance as
many go from wrong to right as from right to wrong (McNemar 1947, Psychometrika 12:153-157; exact,
two-sided, as a binomial with 1/2). Whether people can tell at all is the finding's question, not
this one's.
"""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from panel.core import statistics
from panel.core.findings import CONFIDENCE
from panel.core.names import Outcome, Smell, Step
from panel.core.outcomes import Group, Judged, Stratum
from panel.core.plan import Plan
from panel.core.position import one_answer
from panel.core.statistics.results import BinomialTest, Interval


class Change(StrEnum):
    """What became of one person's choice, from smelling to tasting."""

    STAYED_RIGHT = "stayed-right"
    STAYED_WRONG = "stayed-wrong"  # the same wrong answer twice
    TO_RIGHT = "to-right"
    TO_WRONG = "to-wrong"
    OTHER_WRONG = "other-wrong"  # from one wrong answer to another
    UNDECIDED = "undecided"  # "no preference" in one of the two or in both
    ONE_ONLY = "one-only"  # one of the two is missing


@dataclass(frozen=True, kw_only=True)
class StepsCompared:
    """Both choices of the ballots of one stratum. `counts` has every Change, zeros too.

    With two sides "right" is the choice of the beer that the finding counts. `test` and `interval`
    (Clopper-Pearson) are of the share TO_RIGHT among TO_RIGHT and TO_WRONG: None where nobody is
    among these, and the test of a group that nobody planned.
    """

    stratum: str
    group: Group
    decides: Step
    counts: tuple[tuple[Change, int], ...]
    test: BinomialTest | None
    interval: Interval | None

    def count(self, *changes: Change) -> int:
        """How many people changed, or did not, in one of these ways."""
        return sum(count for change, count in self.counts if change in changes)

    @property
    def paired(self) -> int:
        """People who chose twice."""
        return self.count(*_CHOSE_TWICE)

    @property
    def by_nose(self) -> int:
        """Of these, how many were right by smell."""
        return self.count(Change.STAYED_RIGHT, Change.TO_WRONG)

    @property
    def by_taste(self) -> int:
        """Of these, how many were right after tasting."""
        return self.count(Change.STAYED_RIGHT, Change.TO_RIGHT)

    @property
    def changed(self) -> int:
        """Of these, how many gave another answer after tasting."""
        return self.count(Change.TO_RIGHT, Change.TO_WRONG, Change.OTHER_WRONG)


_CHOSE_TWICE = (
    Change.STAYED_RIGHT,
    Change.STAYED_WRONG,
    Change.TO_RIGHT,
    Change.TO_WRONG,
    Change.OTHER_WRONG,
)


def steps_compared(plan: Plan, strata: Iterable[Stratum]) -> tuple[StepsCompared, ...]:
    """One for each stratum in which somebody chose twice; () unless the plan asks nose first."""
    if plan.smell is not Smell.FIRST:
        return ()
    compared = (_compared(plan, stratum) for stratum in strata)
    return tuple(one for one in compared if one.paired)


def _compared(plan: Plan, stratum: Stratum) -> StepsCompared:
    counts = Counter(change_of(plan, judged) for judged in stratum.ballots)
    helped, hurt = counts[Change.TO_RIGHT], counts[Change.TO_WRONG]
    differ = helped + hurt
    tested = differ and stratum.group is not Group.TOLD
    return StepsCompared(
        stratum=stratum.id,
        group=stratum.group,
        decides=plan.deciding_step,
        counts=tuple((change, counts[change]) for change in Change),
        test=statistics.binomial_test(helped, differ, Fraction(1, 2), plan.alpha, 2)
        if tested
        else None,
        interval=statistics.clopper_pearson(helped, differ, CONFIDENCE) if differ else None,
    )


def change_of(plan: Plan, judged: Judged) -> Change:
    """What became of one ballot's choice from smelling to tasting."""
    if judged.beside is None or judged.picked_beside is None:
        return Change.ONE_ONLY
    decided, other = (judged.outcome, judged.picked), (judged.beside, judged.picked_beside)
    nose, taste = (decided, other) if plan.deciding_step is Step.NOSE else (other, decided)
    match nose[0], taste[0]:
        case (Outcome.NO_CHOICE, _) | (_, Outcome.NO_CHOICE):
            return Change.UNDECIDED
        case Outcome.RIGHT, Outcome.RIGHT:
            return Change.STAYED_RIGHT
        case Outcome.WRONG, Outcome.RIGHT:
            return Change.TO_RIGHT
        case Outcome.RIGHT, Outcome.WRONG:
            return Change.TO_WRONG
    same = one_answer(plan, nose[1]) == one_answer(plan, taste[1])
    return Change.STAYED_WRONG if same else Change.OTHER_WRONG
