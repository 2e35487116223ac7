"""Hits and false alarms, and what knowing does to them, as findings.json holds them."""

from typing import Any

from panel.core.detection import DetectionFinding
from panel.core.detection_difference import DetectionDifference
from panel.core.statistics.detection_results import Rates
from panel.publishing.schema_counts import interval_words


def sign_words(finding: DetectionFinding) -> dict[str, Any]:
    """Counts, test, rates, d-prime: None where one side has nobody."""
    test, known = finding.test, finding.sensitivity
    rates = finding.rates
    return {
        **_rates(rates),
        "correct": rates.hits + rates.others - rates.false_alarms,
        "power": finding.power,
        "detectable excess": finding.detectable,
        "test": None if test is None else str(test.kind),
        "p": None if test is None else test.p_value,
        "hit rate": None if test is None else test.hit_rate,
        "hit rate interval": None if test is None else interval_words(test.hit_interval),
        "false-alarm rate": None if test is None else test.false_alarm_rate,
        "false-alarm rate interval": None
        if test is None
        else interval_words(test.false_alarm_interval),
        "excess": None if test is None else test.difference,
        "excess interval": None if test is None else interval_words(test.interval),
        "d-prime": None if known is None else known.d_prime.value,
        "d-prime interval": None if known is None else interval_words(known.d_prime.interval),
        "line": None if known is None else known.criterion,
    }


def _rates(rates: Rates) -> dict[str, Any]:
    return {
        "hits": [rates.hits, rates.targets],
        "false alarms": [rates.false_alarms, rates.others],
        "hit alone": rates.first_only,
        "false alarm alone": rates.second_only,
    }


def sign_difference_words(difference: DetectionDifference) -> dict[str, Any]:
    """Informed held against blinded, in hits and false alarms."""
    return {
        "basis": str(difference.basis),
        "sittings": list(difference.sittings),
        "informed": _rates(difference.informed),
        "blinded": _rates(difference.blinded),
        "difference": difference.compared.difference,
        "interval": interval_words(difference.compared.interval),
        "p": difference.compared.p_value,
        "test": "randomisation of tasters, exact, two-sided",
        "groups drawn": difference.drawn,
        "verdicts differ": difference.verdicts_differ,
    }
