"""Rankings as findings.json holds them."""

from typing import Any

from panel.core.rankings import RankingFinding
from panel.core.statistics.rank_results import RankPair


def ranking_words(finding: RankingFinding) -> dict[str, Any]:
    """Places, the test of all, the trend, the pairs: None where nobody ranked."""
    test, trend, pairs = finding.test, finding.trend, finding.pairs
    return {
        "power": finding.power,
        "detectable share who tell": finding.detectable,
        "p": finding.p_value,
        "cups each": finding.cups,
        "rank sums": None if test is None else dict(zip(test.drinks, test.sums, strict=True)),
        "mean places": None if test is None else dict(zip(test.drinks, test.means, strict=True)),
        "tasted by": None if test is None else dict(zip(test.drinks, test.tasted, strict=True)),
        "all alike": None
        if test is None
        else {
            "test": "friedman" if test.complete else "durbin",
            "statistic": test.statistic,
            "degrees of freedom": test.freedom,
            "p": test.p_value,
            "exact": test.exact,
            "agreement": test.agreement,
        },
        "named order": None
        if trend is None
        else {
            "test": "page",
            "order": finding.expected_order,
            "statistic": trend.statistic,
            "by chance": trend.expected,
            "p": trend.p_value,
            "exact": trend.exact,
        },
        "least distance, one pair": None if pairs is None else pairs.distance_alone,
        "least distance, all pairs": None if pairs is None else pairs.distance_together,
        "pairs": None if pairs is None else [_pair(pair) for pair in pairs.pairs],
        "apart": [f"{pair.first}{pair.second}" for pair in finding.apart],
    }


def _pair(pair: RankPair) -> dict[str, Any]:
    return {
        "beers": [pair.first, pair.second],
        "difference": pair.difference,
        "z": pair.z,
        "p alone": pair.p_alone,
        "p among all": pair.p_together,
    }
