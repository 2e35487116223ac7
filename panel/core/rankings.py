"""What one group's rankings can bear: are the drinks placed alike, and which are apart?

The question is the locked plan's: whether all are placed alike (Friedman's test, its form for
incomplete trays), or, where an order was named beforehand, whether places follow it (Page's). Pairs
are read for all of them at once, and only where the test of all has shown a difference.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction

from panel.core import statistics
from panel.core.findings import USUAL_POWER, Verdict, told_beside
from panel.core.methods.ranking import cups_of, orders
from panel.core.names import Aim, Information
from panel.core.outcomes import Group, Judged, Outcomes, Stratum
from panel.core.plan import Plan
from panel.core.statistics.rank_results import RankPair, RankPairs, RankTest, TrendTest

_FEWEST_SEARCHED = 100

Places = Mapping[str, int]
"""One taster's tray: a drink's letter to the place it was given, 1 for the first."""


@dataclass(frozen=True, kw_only=True)
class RankingFinding:
    """The result of one stratum whose tasters put cups in order.

    `tasters` ranked (in repeat trials they are trays of one taster), `trays` are what they said, by
    card number; `drinks` are letters. `limit`: the share who truly tell that matters, as locked.
    All tests are None where fewer than two drinks were ranked. `power` is that of the locked plan
    with so many tasters, `detectable` the smallest share of tasters who tell that is found four
    times in five. `fewest` that could decide is looked up only where these could not.
    """

    id: str
    group: Group
    information: Information
    method: str
    sittings: tuple[str, ...]
    taster: int
    tasters: int
    aim: Aim
    limit: Fraction
    verdict: Verdict
    trays: tuple[Places, ...]
    drinks: tuple[str, ...]
    cups: int
    expected_order: str
    test: RankTest | None = None
    trend: TrendTest | None = None
    pairs: RankPairs | None = None
    power: float | None = None
    detectable: float | None = None
    fewest: int | None = None
    with_told: "RankingFinding | None" = None
    sides: int = 2
    no_choice: int = 0

    @property
    def planned(self) -> bool:
        """Whether the locked plan asks for this group: the told at the table are extra."""
        return self.group is not Group.TOLD

    @property
    def below_guessing(self) -> bool:
        """Never: no order is a wrong one."""
        return False

    @property
    def p_value(self) -> float | None:
        """Of the test that decides."""
        decides = self.trend or self.test
        return None if decides is None else decides.p_value

    @property
    def mean_places(self) -> tuple[tuple[str, float], ...]:
        """Each drink's mean place, the first first; () where nobody ranked."""
        if self.test is None:
            return ()
        means = zip(self.test.drinks, self.test.means, strict=True)
        return tuple(sorted(means, key=lambda pair: (pair[1], pair[0])))

    @property
    def distance(self) -> float | None:
        """By how much two mean places must differ, all pairs at once; None where each pair has its
        own distance, and where no verdict is given."""
        if self.pairs is None or not self.planned or self.verdict is Verdict.TOO_FEW:
            return None
        return self.pairs.distance_together

    @property
    def apart(self) -> tuple[RankPair, ...]:
        """The pairs that are apart with the risk held for all pairs together; none where the test
        of all drinks shows nothing, or where nobody planned the group."""
        if self.pairs is None or self.test is None or not self.test.significant:
            return ()
        if not self.planned or self.verdict is Verdict.TOO_FEW:
            return ()
        return tuple(pair for pair in self.pairs.pairs if pair.apart_together)


def rankings_of(plan: Plan, outcomes: Outcomes) -> tuple[RankingFinding, ...]:
    """A finding for each stratum; the blinded also as they would be with the told among them."""
    found = []
    for stratum in outcomes.strata:
        finding = ranking_of(plan, stratum)
        beside = told_beside(stratum, outcomes.of(Group.TOLD))
        if beside is not None:
            finding = replace(finding, with_told=ranking_of(plan, beside))
        found.append(finding)
    return tuple(found)


def ranking_of(plan: Plan, stratum: Stratum) -> RankingFinding:
    """The finding of one stratum by the locked plan."""
    trays = tuple(places_of(one) for one in stratum.ballots if one.said)
    drinks = tuple(sorted({drink for tray in trays for drink in tray}))
    finding = RankingFinding(
        id=stratum.id,
        group=stratum.group,
        information=stratum.information,
        method=stratum.method,
        sittings=stratum.sittings,
        taster=stratum.taster,
        tasters=len(trays),
        aim=plan.aim,
        limit=Fraction(plan.pd or 0),
        verdict=Verdict.TOO_FEW,
        trays=trays,
        drinks=drinks,
        cups=cups_of(plan),
        expected_order=plan.expected_order,
    )
    return _tested(plan, finding)


def places_of(judged: Judged) -> Places:
    """What a ballot says of its tray."""
    return {judged.order[int(cup) - 1]: place for place, cup in enumerate(judged.said, start=1)}


def place_in_orders(ballots: Iterable[Judged]) -> tuple[int, float, float] | None:
    """The place on the tray that stands out, its mean rank, and what would be even; None where
    orders do not depend on places, at 5 %."""
    trays = [
        {cup: place for place, cup in enumerate(one.said, start=1)} for one in ballots if one.said
    ]
    if not trays:
        return None
    test = statistics.rank_test(trays, Decimal("0.05"))
    if not test.significant:
        return None
    even = (len(trays[0]) + 1) / 2
    means = dict(zip(test.drinks, test.means, strict=True))
    cup = max(means, key=lambda cup: abs(means[cup] - even))
    return int(cup), means[cup], even


def _tested(plan: Plan, finding: RankingFinding) -> RankingFinding:
    trays, drinks, order = finding.trays, finding.drinks, finding.expected_order
    if len(drinks) < 2:
        return replace(finding, fewest=fewest_of(plan))
    test = statistics.rank_test(trays, plan.alpha)
    trend = statistics.trend_test(trays, _named(order, drinks), plan.alpha) if order else None
    one_mind = [_as_one(tray, order) for tray in trays]
    verdict = _verdict(finding, _significant(one_mind, order, drinks, plan.alpha), trend or test)
    return replace(
        finding,
        verdict=verdict,
        test=test,
        trend=trend,
        pairs=statistics.rank_pairs(trays, plan.alpha),
        power=power_of(plan, len(trays)),
        detectable=statistics.ranking_detectable(
            len(trays), plan.drinks, finding.cups, plan.alpha, USUAL_POWER, trend=bool(order)
        ),
        fewest=fewest_of(plan) if verdict is Verdict.TOO_FEW else None,
    )


def _verdict(finding: RankingFinding, can_decide: bool, decides: RankTest | TrendTest) -> Verdict:
    if finding.group is Group.TOLD:
        return Verdict.COUNT_ONLY
    if not can_decide:
        return Verdict.TOO_FEW
    return Verdict.SHOWN if decides.significant else Verdict.NOT_SHOWN


def power_of(plan: Plan, tasters: int) -> float | None:
    """With so many tasters, of whom the share that the plan names truly tells."""
    if plan.pd is None:
        return None
    return statistics.ranking_power(
        tasters,
        plan.drinks,
        cups_of(plan),
        plan.pd,
        plan.alpha,
        trend=bool(plan.expected_order),
    )


def can_decide(plan: Plan, tasters: int) -> bool:
    """Whether so many tasters could, were they of one mind; their trays as the complete set of
    orders has them, one after another."""
    complete = orders(plan)
    trays = [_whole(complete[tray % len(complete)], plan) for tray in range(tasters)]
    drinks = sorted({drink for tray in trays for drink in tray})
    return len(drinks) > 1 and _significant(trays, plan.expected_order, drinks, plan.alpha)


def fewest_of(plan: Plan) -> int | None:
    """The smallest number of tasters who could decide, were they of one mind; None beyond 100."""
    tried = range(1, _FEWEST_SEARCHED + 1)
    return next((tasters for tasters in tried if can_decide(plan, tasters)), None)


def _significant(
    trays: Sequence[Places], order: str, drinks: Iterable[str], alpha: Decimal
) -> bool:
    if order:
        return statistics.trend_test(trays, _named(order, drinks), alpha).significant
    return statistics.rank_test(trays, alpha).significant


def _whole(order: str, plan: Plan) -> Places:
    return _as_one(dict.fromkeys(order, 0), plan.expected_order)


def _as_one(tray: Places, order: str) -> Places:
    """The tray as a taster would rank it who goes by the named order, or by the letters."""
    wanted = sorted(tray, key=order.index if order else None)
    return {drink: place for place, drink in enumerate(wanted, start=1)}


def _named(order: str, drinks: Iterable[str]) -> str:
    known = set(drinks)
    return "".join(letter for letter in order if letter in known)
