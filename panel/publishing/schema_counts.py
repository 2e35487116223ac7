"""Right answers against guessing, and what knowing does to them, as findings.json holds them."""

from typing import Any

from panel.core.difference import Difference
from panel.core.findings import Finding
from panel.core.names import Aim
from panel.core.statistics.results import DPrimeInterval, Equivalence, Interval, Posterior


def count_words(finding: Finding) -> dict[str, Any]:
    """Counts, test, intervals, d-prime and prior: None where nobody chose, or where they have no
    meaning."""
    return {
        "correct": finding.correct,
        "no choice": finding.no_choice,
        "counted beer": finding.counted_beer or None,
        "expected by guessing": finding.expected,
        "decisive count": finding.decisive,
        "power": finding.power,
        "detectable discriminators": finding.detectable,
        **_numbers(finding),
        "flat prior": _posterior(finding.posterior),
    }


def _numbers(finding: Finding) -> dict[str, Any]:
    tally, test, alike = finding.tally, finding.test, finding.similarity
    telling = None if finding.aim is Aim.PREFERENCE else tally  # nobody "tells apart" by liking
    return {
        "p": None if test is None else test.p_value,
        "critical number": None if test is None else test.critical_number,
        "p at the similarity limit": None if alike is None else alike.p_value,
        "share": None if tally is None else tally.proportion_correct,
        "share interval": None if tally is None else interval_words(tally.interval),
        "discriminators": None if telling is None else telling.discriminators,
        "discriminators interval": None
        if telling is None
        else interval_words(telling.discriminators_interval),
        "d-prime": None if telling is None else telling.d_prime,
        "d-prime interval": None if telling is None else interval_words(telling.d_prime_interval),
    }


def _posterior(posterior: Posterior | None) -> dict[str, Any] | None:
    if posterior is None:
        return None
    return {
        "median": posterior.median,
        "interval": interval_words(posterior.interval),
        "beyond the limit": posterior.beyond_limit,
    }


def interval_words(interval: Interval | DPrimeInterval) -> dict[str, Any]:
    """An interval with its confidence and method; an end without bound is None."""
    return {
        "low": interval.low,
        "high": interval.high,
        "confidence": interval.confidence,
        "method": str(interval.method),
    }


def count_difference_words(difference: Difference) -> dict[str, Any]:
    """Informed held against blinded, in right answers."""
    return {
        "basis": str(difference.basis),
        "sittings": list(difference.sittings),
        "informed": [difference.informed_correct, difference.informed_tasters],
        "blinded": [difference.blinded_correct, difference.blinded_tasters],
        "difference": difference.compared.difference,
        "interval": interval_words(difference.compared.interval),
        "p": difference.compared.p_value,
        "test": "boschloo, two-sided",
        "equivalence": _equivalence(difference.equivalence),
        "groups drawn": difference.drawn,
        "verdicts differ": difference.verdicts_differ,
    }


def _equivalence(known: Equivalence | None) -> dict[str, Any] | None:
    if known is None:
        return None
    return {
        "margin": known.margin,
        "p": known.p_value,
        "alike": known.alike,
    }
