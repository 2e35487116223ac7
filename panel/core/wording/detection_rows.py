"""Hits and false alarms as rows of numbers: a few for everybody, all of them for statisticians."""

from panel.core.detection import DetectionFinding
from panel.core.findings import Verdict
from panel.core.message import Message, Number, PValue, Share, say
from panel.core.outcomes import Group
from panel.core.statistics.detection_results import RateTest, RateTestKind
from panel.core.statistics.results import IntervalMethod
from panel.core.wording.detection import method_of
from panel.core.wording.in_words import in_100
from panel.core.wording.rows import Row, d_prime_of, interval_of, rate


def sign_rows(finding: DetectionFinding) -> tuple[Row, ...]:
    """Both rates, their difference, and what could have been seen."""
    test, method = finding.test, method_of(finding)
    if test is None:
        return ()
    return (
        Row(
            say("“%(answer)s” of %(what)s", answer=method.called, what=method.targets),
            _share_of(finding.rates.hits, finding.rates.targets),
        ),
        Row(
            say("“%(answer)s” of %(what)s", answer=method.called, what=method.others),
            _share_of(finding.rates.false_alarms, finding.rates.others),
        ),
        Row(
            say("The difference, with its 95%% range"),
            say(
                "%(share)s (%(low)s to %(high)s)",
                share=Share(test.difference),
                low=Share(test.interval.low),
                high=Share(test.interval.high),
            ),
        ),
        *_could_see(finding),
    )


def _share_of(count: int, of: int) -> Message:
    return say(
        "%(count)s of %(tasters)s (%(share)s)", count=count, tasters=of, share=Share(count / of)
    )


def _could_see(finding: DetectionFinding) -> tuple[Row, ...]:
    if finding.detectable is None or finding.verdict is Verdict.COUNT_ONLY:
        return ()
    label = say("This panel would have seen, 4 times in 5")
    if finding.group is Group.REPEAT:
        label = say("These trays would have shown, 4 times in 5")
    share = in_100(finding.detectable)
    return (Row(label, say("%(count)s in 100 telling them apart", count=share)),)


# --- for statisticians ----------------------------------------------------------------------------


def sign_rows_for_statisticians(finding: DetectionFinding) -> tuple[Row, ...]:
    """Everything that was computed of one stratum, in the trade's terms."""
    method, rates, test = method_of(finding), finding.rates, finding.test
    start = (
        Row(say("Stratum"), say("%(id)s", id=finding.id)),
        Row(say("Method"), method.name),
        Row(say("Hits"), _of(rates.hits, rates.targets)),
        Row(say("False alarms"), _of(rates.false_alarms, rates.others)),
    )
    if test is None:
        return start
    return (
        *start,
        *_pairs(finding),
        Row(_TEST[test.kind], say("%(p)s", p=PValue(test.p_value))),
        Row(say("Alpha"), say("%(alpha)s", alpha=rate(test.alpha))),
        *_rates(test),
        *_sensitivity(finding),
        *_power(finding),
    )


_TEST = {
    RateTestKind.FISHER: say("Fisher’s exact p-value, one-sided"),
    RateTestKind.MCNEMAR: say("McNemar’s exact p-value, one-sided"),
}


def _of(count: int, tasters: int) -> Message:
    return say("%(count)s of %(tasters)s", count=count, tasters=tasters)


def _pairs(finding: DetectionFinding) -> tuple[Row, ...]:
    rates = finding.rates
    if rates.first_only is None or rates.second_only is None:
        return ()
    return (
        Row(
            say("Tasters with a hit alone, and with a false alarm alone"),
            say("%(hits)s and %(alarms)s", hits=rates.first_only, alarms=rates.second_only),
        ),
    )


def _rates(test: RateTest) -> tuple[Row, ...]:
    return (
        Row(
            say("Hit rate, exact interval (Clopper–Pearson, two-sided)"),
            interval_of(test.hit_rate, test.hit_interval),
        ),
        Row(
            say("False-alarm rate, exact interval (Clopper–Pearson, two-sided)"),
            interval_of(test.false_alarm_rate, test.false_alarm_interval),
        ),
        Row(
            say("Hit rate minus false-alarm rate (Newcombe, two-sided)"),
            interval_of(test.difference, test.interval),
        ),
    )


def _sensitivity(finding: DetectionFinding) -> tuple[Row, ...]:
    known = finding.sensitivity
    if known is None:
        return ()
    label = say("d-prime (interval: an exact test inverted)")
    if known.d_prime.interval.method is IntervalMethod.BOTH_RATES:
        label = say("d-prime (interval: from both exact rates, half the risk each)")
    line = say("Criterion c (0: in the middle; above: the answer is given sparingly)")
    if method_of(finding).line == "same-different":
        line = say("Tau (from this difference on a pair is called different)")
    place = "∞" if known.criterion is None else Number(known.criterion, 2)
    if known.criterion is None and method_of(finding).line == "yes-no":
        place = "–"
    return (
        Row(label, d_prime_of(known.d_prime.value, known.d_prime.interval)),
        Row(line, say("%(place)s", place=place)),
    )


def _power(finding: DetectionFinding) -> tuple[Row, ...]:
    rows = []
    if finding.power is not None:
        label = say(
            "Power at the locked difference (hits minus false alarms %(limit)s)",
            limit=f"{float(finding.limit):.3g}",
        )
        rows.append(Row(label, say("%(power)s", power=Number(finding.power, 3))))
    if finding.detectable is not None:
        rows.append(
            Row(
                say("Smallest hits minus false alarms with power 0.8"),
                say("%(pd)s", pd=Number(finding.detectable, 3)),
            )
        )
    return tuple(rows)
