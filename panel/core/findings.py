"""What one group's right answers can bear: exact test, interval, what the panel could have seen.

A finding takes its question from the locked plan (aim, risks, sides, smallest difference that
matters) and its counts from the opened key. Whether a verdict may be given at all is part of it.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction

from panel.core import statistics
from panel.core.methods import ForcedChoice, forced_choice
from panel.core.names import Aim, Information, Outcome
from panel.core.outcomes import Group, Outcomes, Stratum
from panel.core.plan import Plan
from panel.core.planning import Turnout, planned_pc, sides_of, turnout
from panel.core.statistics.results import (
    BinomialTest,
    Posterior,
    SimilarityLimit,
    SimilarityTest,
    Tally,
)

USUAL_POWER = Decimal("0.8")
"""Four times in five: at which power "what this panel would have seen" is said."""

CONFIDENCE = Decimal("0.95")
"""Of every interval that is published, two-sided, whatever the plan's alpha."""

_FEWEST_SEARCHED = 1000


class Verdict(StrEnum):
    """What may be said of one group by the rule that was locked."""

    SHOWN = "shown"
    NOT_SHOWN = "not-shown"
    SIMILAR = "similar"
    NOT_SIMILAR = "not-similar"
    TOO_FEW = "too-few"  # no count of so few could decide
    COUNT_ONLY = "count-only"  # nobody planned this group: no test is made of it


@dataclass(frozen=True, kw_only=True)
class Finding:
    """The result of one stratum.

    `tasters` chose, `correct` of them were right, `no_choice` more declared no preference; in
    repeat trials (group REPEAT) they are trays of one taster. With two sides `correct` counts
    those who chose `counted_beer` (a letter), else that is "". The test against guessing is always
    there, the similarity test where it is the aim. `power` is that of the locked plan at this
    number, `detectable` the smallest proportion of discriminators found four times in five.
    `fewest` is the smallest number that could decide, looked up only where the verdict is TOO_FEW.
    `posterior` is the same count read with a flat prior, beside the test and never in its place.
    All but the counts are None where nobody chose; `detectable` and `fewest` where there is none;
    `posterior` where the count lies below guessing.
    """

    id: str
    group: Group
    information: Information
    method: str
    sittings: tuple[str, ...]
    taster: int
    tasters: int
    correct: int
    no_choice: int
    chance: Fraction
    sides: int
    aim: Aim
    counted_beer: str
    limit: Fraction  # proportion of discriminators that matters, as locked
    verdict: Verdict
    tally: Tally | None = None
    test: BinomialTest | None = None
    similarity: SimilarityTest | None = None
    decisive: int | None = None  # critical number; similarity: the largest count that shows it
    power: float | None = None
    detectable: float | None = None
    fewest: int | None = None
    posterior: Posterior | None = None
    with_told: "Finding | None" = None

    @property
    def planned(self) -> bool:
        """Whether the locked plan asks for this group: the told at the table are extra."""
        return self.group is not Group.TOLD

    @property
    def expected(self) -> float:
        """How many would be right by guessing alone."""
        return float(self.tasters * self.chance)

    @property
    def share(self) -> float:
        """The share that was right; 0 where nobody chose."""
        return self.correct / self.tasters if self.tasters else 0.0

    @property
    def below_guessing(self) -> bool:
        """Whether even the upper end of the interval lies under chance: something went wrong."""
        if self.sides == 2 or self.tally is None:
            return False
        return self.tally.interval.high < self.chance


def findings_of(plan: Plan, outcomes: Outcomes) -> tuple[Finding, ...]:
    """A finding for each stratum; the blinded also as they would be with the told among them."""
    found = []
    for stratum in outcomes.strata:
        finding = find(plan, stratum)
        beside = told_beside(stratum, outcomes.of(Group.TOLD))
        if beside is not None:
            finding = replace(finding, with_told=find(plan, beside))
        found.append(finding)
    return tuple(found)


def told_beside(stratum: Stratum, told: Iterable[Stratum]) -> Stratum | None:
    """A blinded stratum with the told of its own sittings put back, None where there are none."""
    if stratum.group is not Group.BLINDED:
        return None
    back = tuple(
        ballot for one in told if one.sittings == stratum.sittings for ballot in one.ballots
    )
    if not back:
        return None
    return replace(stratum, id=f"{stratum.id}-with-told", ballots=stratum.ballots + back)


def find(plan: Plan, stratum: Stratum) -> Finding:
    """The finding of one stratum by the locked plan."""
    right = stratum.count(Outcome.RIGHT)
    chose = right + stratum.count(Outcome.WRONG)
    method = forced_choice(plan.method)
    pc = planned_pc(plan, method)
    finding = Finding(
        id=stratum.id,
        group=stratum.group,
        information=stratum.information,
        method=stratum.method,
        sittings=stratum.sittings,
        taster=stratum.taster,
        tasters=chose,
        correct=right,
        no_choice=stratum.count(Outcome.NO_CHOICE),
        chance=method.chance,
        sides=sides_of(plan, method),
        aim=plan.aim,
        counted_beer=counted_beer(plan, method),
        limit=(pc - method.chance) / (1 - method.chance),
        verdict=Verdict.TOO_FEW,
    )
    return _tested(plan, method, pc, finding)


def counted_beer(plan: Plan, method: ForcedChoice) -> str:
    """With two sides: the letter of the beer whose choices count as RIGHT. Else ""."""
    if sides_of(plan, method) == 1:
        return ""
    order = method.orders(plan)[0]
    return next(
        beer
        for position, beer in enumerate(order, start=1)
        if method.judge(plan, order, (position,)) is Outcome.RIGHT
    )


def winner(finding: Finding, letters: tuple[str, str]) -> str:
    """With two sides: the letter of the beer chosen more often, "" where both were equally."""
    first = finding.counted_beer
    (second,) = set(letters) - {first}
    ahead = 2 * finding.correct - finding.tasters
    return "" if ahead == 0 else first if ahead > 0 else second


def _tested(plan: Plan, method: ForcedChoice, pc: Fraction, finding: Finding) -> Finding:
    count, of, sides = finding.correct, finding.tasters, finding.sides
    turned_out = turnout(plan, method, pc, of)
    if turned_out is None:  # nobody chose
        return replace(finding, fewest=_fewest(plan, method, pc))
    similarity = None
    if plan.aim is Aim.SIMILARITY:
        limit = SimilarityLimit(pc, Fraction(plan.beta))
        similarity = statistics.similarity_test(count, of, method.chance, limit, sides)
    test = statistics.binomial_test(count, of, method.chance, plan.alpha, sides)
    verdict = _verdict(finding.group, turned_out, test, similarity)
    counted = replace(
        finding,
        tally=statistics.tally_count(
            count, of, method.link, alpha=plan.alpha, sides=sides, confidence=CONFIDENCE
        ),
    )
    return replace(
        counted,
        verdict=verdict,
        test=test,
        similarity=similarity,
        decisive=turned_out.decisive,
        power=turned_out.power,
        detectable=statistics.smallest_detectable(
            of, method.chance, plan.alpha, USUAL_POWER, sides
        ),
        fewest=_fewest(plan, method, pc) if verdict is Verdict.TOO_FEW else None,
        posterior=_posterior(pc, counted),
    )


def _posterior(pc: Fraction, finding: Finding) -> Posterior | None:
    """None below guessing: a prior that leaves out "worse than guessing" would hide what is wrong;
    and of a group that nobody planned."""
    if finding.below_guessing or finding.group is Group.TOLD:
        return None
    return statistics.flat_posterior(
        finding.correct, finding.tasters, finding.chance, pc, CONFIDENCE, finding.sides
    )


def _verdict(
    group: Group, turned_out: Turnout, test: BinomialTest, similarity: SimilarityTest | None
) -> Verdict:
    if group is Group.TOLD:
        return Verdict.COUNT_ONLY
    if turned_out.decisive is None:
        return Verdict.TOO_FEW
    if similarity is not None:
        return Verdict.SIMILAR if similarity.similar else Verdict.NOT_SIMILAR
    return Verdict.SHOWN if test.significant else Verdict.NOT_SHOWN


def _fewest(plan: Plan, method: ForcedChoice, pc: Fraction) -> int | None:
    """The smallest number that could decide, None where it is beyond a thousand."""
    for tasters in range(1, _FEWEST_SEARCHED + 1):
        turned_out = turnout(plan, method, pc, tasters)
        if turned_out is not None and turned_out.decisive is not None:
            return tasters
    return None
