"""The finding of a method that counts hits and false alarms: exact test, d-prime, the line.

Right answers alone would not do: who calls every pair different is right about all that differ.
So the answer is counted where it is true and where it is not, and the two rates are held against
each other.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from fractions import Fraction

from panel.core import statistics
from panel.core.detection_planning import planned_rates
from panel.core.findings import CONFIDENCE, USUAL_POWER, Verdict, told_beside
from panel.core.methods.method import Detection
from panel.core.names import Aim, Information
from panel.core.outcomes import Group, Judged, Outcomes, Stratum
from panel.core.plan import Plan
from panel.core.statistics.detection_results import Rates, RateTest, Sensitivity

_FEWEST_SEARCHED = 200


@dataclass(frozen=True, kw_only=True)
class DetectionFinding:
    """The result of one stratum.

    `tasters` answered (in repeat trials they are trays of one taster). `rates` are the counts:
    with nobody on one side its total is 0, and all after it is None. `limit`: by how much hits
    exceed false alarms at the difference that matters, as locked. `power` is that of the locked
    plan with these very trays, `detectable` the smallest such excess found four times in five.
    `fewest`: the smallest number of tasters that could decide, where the verdict is TOO_FEW.
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
    rates: Rates
    test: RateTest | None = None
    sensitivity: Sensitivity | None = None
    power: float | None = None
    detectable: float | None = None
    fewest: int | None = None
    with_told: "DetectionFinding | None" = None
    sides: int = 1
    no_choice: int = 0

    @property
    def planned(self) -> bool:
        """Whether the locked plan asks for this group: the told at the table are extra."""
        return self.group is not Group.TOLD

    @property
    def below_guessing(self) -> bool:
        """Whether false alarms are more than hits beyond what chance does: something went wrong."""
        return self.test is not None and self.test.interval.high < 0


def detections_of(
    plan: Plan, method: Detection, outcomes: Outcomes
) -> tuple[DetectionFinding, ...]:
    """A finding for each stratum; the blinded also as they would be with the told among them."""
    found = []
    for stratum in outcomes.strata:
        finding = detect(plan, method, stratum)
        beside = told_beside(stratum, outcomes.of(Group.TOLD))
        if beside is not None:
            finding = replace(finding, with_told=detect(plan, method, beside))
        found.append(finding)
    return tuple(found)


def rates_of(plan: Plan, method: Detection, ballots: Iterable[Judged]) -> Rates:
    """Hits and false alarms of these ballots."""
    signs = [method.signs(plan, one.order, one.said) for one in ballots]
    answered = [one for one in signs if one]
    every = [sign for one in answered for sign in one]
    targets = [sign.said for sign in every if sign.target]
    others = [sign.said for sign in every if not sign.target]
    if not method.paired:
        return Rates(sum(targets), len(targets), sum(others), len(others))
    by_taster = [
        (
            any(sign.said for sign in one if sign.target),
            any(sign.said for sign in one if not sign.target),
        )
        for one in answered
    ]
    return Rates(
        sum(targets),
        len(targets),
        sum(others),
        len(others),
        first_only=by_taster.count((True, False)),
        second_only=by_taster.count((False, True)),
    )


def detect(plan: Plan, method: Detection, stratum: Stratum) -> DetectionFinding:
    """The finding of one stratum by the locked plan."""
    rates = rates_of(plan, method, stratum.ballots)
    hit, alarm = planned_rates(plan, method)
    finding = DetectionFinding(
        id=stratum.id,
        group=stratum.group,
        information=stratum.information,
        method=stratum.method,
        sittings=stratum.sittings,
        taster=stratum.taster,
        tasters=rates.targets if method.paired else rates.targets + rates.others,
        aim=plan.aim,
        limit=Fraction(hit - alarm).limit_denominator(10**9),
        verdict=Verdict.COUNT_ONLY if stratum.group is Group.TOLD else Verdict.TOO_FEW,
        rates=rates,
    )
    return _tested(plan, method, finding, hit, alarm)


def _tested(
    plan: Plan, method: Detection, finding: DetectionFinding, hit: float, alarm: float
) -> DetectionFinding:
    rates = finding.rates
    if not rates.targets or not rates.others:
        return replace(finding, fewest=_fewest(plan, method))
    test = statistics.rate_test(rates, plan.alpha, CONFIDENCE)
    verdict = _verdict(plan, method, finding, test)
    power = (
        statistics.power_of_pairs(rates.targets, hit, alarm, plan.alpha)
        if method.paired
        else statistics.power_of_groups(rates.targets, rates.others, hit, alarm, plan.alpha)
    )
    return replace(
        finding,
        verdict=verdict,
        test=test,
        sensitivity=statistics.sensitivity_of(method.line, rates, CONFIDENCE),
        power=power,
        detectable=statistics.smallest_difference(
            finding.tasters, plan.alpha, USUAL_POWER, paired=method.paired
        ),
        fewest=_fewest(plan, method) if verdict is Verdict.TOO_FEW else None,
    )


def _verdict(plan: Plan, method: Detection, finding: DetectionFinding, test: RateTest) -> Verdict:
    rates = finding.rates
    if finding.group is Group.TOLD:
        return Verdict.COUNT_ONLY
    if not statistics.can_decide(rates.targets, rates.others, plan.alpha, paired=method.paired):
        return Verdict.TOO_FEW
    return Verdict.SHOWN if test.significant else Verdict.NOT_SHOWN


def _fewest(plan: Plan, method: Detection) -> int | None:
    """The smallest number of tasters that could decide, None where it is beyond two hundred."""
    for tasters in range(1, _FEWEST_SEARCHED + 1):
        each = (tasters, tasters) if method.paired else (tasters - tasters // 2, tasters // 2)
        if statistics.can_decide(*each, plan.alpha, paired=method.paired):
            return tasters
    return None
