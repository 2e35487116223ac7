"""Repeat trials of several tasters: what may be said of them together, and what may not.

Trays of one taster are not tasters. That nobody can tell is one hypothesis for all of them, and if
it is true every tray is a guess of its own, whoever has it: then the sum is binomial, and may be
tested (Kunert & Meyners 1999, Food Quality and Preference 10:477–482). As soon as somebody can
tell, trays of one taster are alike and the sum is not binomial: so no interval, no power and no
similarity is ever computed from it. How far the tasters differ is measured instead.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from panel.core import statistics
from panel.core.findings import Finding
from panel.core.outcomes import Group
from panel.core.plan import Plan
from panel.core.statistics.results import BetaBinomial, BinomialTest, Overdispersion


@dataclass(frozen=True, kw_only=True)
class Repeats:
    """The repeat trials of one sitting (an id) with two tasters or more who chose.

    `counts` are right answers (two sides: choices of the beer that is counted) and trays of each
    taster in the order of their findings. `together` tests that nobody of them can tell. `spread`
    asks whether they differ more than one share allows. `fitted` is a mean and spread of shares
    truly told apart (two sides: of shares that chose), None where each taster has one tray.
    """

    sitting: str
    counts: tuple[tuple[int, int], ...]
    together: BinomialTest
    spread: Overdispersion
    fitted: BetaBinomial | None

    @property
    def correct(self) -> int:
        """Right answers of all trays."""
        return sum(correct for correct, _ in self.counts)

    @property
    def trays(self) -> int:
        """All trays in which a choice was made."""
        return sum(trays for _, trays in self.counts)


def repeats_of(plan: Plan, findings: Iterable[Finding]) -> tuple[Repeats, ...]:
    """One for each sitting of repeat trials with two tasters or more who chose."""
    by_sitting: dict[str, list[Finding]] = {}
    for finding in findings:
        if finding.group is Group.REPEAT and finding.tasters:
            by_sitting.setdefault(finding.sittings[0], []).append(finding)
    return tuple(_of(plan, sitting, of) for sitting, of in by_sitting.items() if len(of) > 1)


def _of(plan: Plan, sitting: str, tasters: list[Finding]) -> Repeats:
    one = tasters[0]
    counts = tuple((taster.correct, taster.tasters) for taster in tasters)
    right, trays = sum(x for x, _ in counts), sum(n for _, n in counts)
    several = any(n > 1 for _, n in counts)
    guessed = one.chance if one.sides == 1 else Fraction(0)
    return Repeats(
        sitting=sitting,
        counts=counts,
        together=statistics.binomial_test(right, trays, one.chance, plan.alpha, one.sides),
        spread=statistics.overdispersed(counts),
        fitted=statistics.fit_beta_binomial(counts, guessed) if several else None,
    )
