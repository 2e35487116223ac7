"""Exact statistics of counts: critical numbers, power, d-prime, intervals, two groups.

The one room of the core that uses numpy and scipy (scipy.special only). This door opens lazily
(PEP 562): importing the room loads neither; the first function that is asked for does. Results
(`results`), links and limits on input are standard library throughout.
"""

from importlib import import_module
from typing import TYPE_CHECKING

# The names thrice: for type checkers, for __getattr__, and as what is public. A test compares them.
if TYPE_CHECKING:
    from panel.core.statistics.any_time import (
        deciding_counts,
        e_value,
        looked_at,
        stopping,
    )
    from panel.core.statistics.between_tasters import (
        fit_beta_binomial,
    )
    from panel.core.statistics.binomial import (
        binomial_test,
        critical_number,
        max_correct,
        p_value,
        similarity_test,
    )
    from panel.core.statistics.combined import (
        combine,
    )
    from panel.core.statistics.combined_results import (
        Combined,
        Panel,
    )
    from panel.core.statistics.detection_results import (
        Rates,
        RatesNeeded,
        RateTest,
        RateTestKind,
        Sensitivity,
    )
    from panel.core.statistics.dprime import (
        d_prime_from_pc,
        pc_at_d_prime,
        proportion_correct,
    )
    from panel.core.statistics.equivalence import (
        equivalent,
    )
    from panel.core.statistics.estimates import (
        d_prime,
        discriminators,
        pc_at_pd,
        proportion,
    )
    from panel.core.statistics.evenness import (
        freeman_halton,
        overdispersed,
    )
    from panel.core.statistics.friedman import (
        rank_test,
    )
    from panel.core.statistics.hand_tally import (
        hand_rates_rows,
        hand_similarity_rows,
        hand_tally_rows,
    )
    from panel.core.statistics.inputs import (
        MAX_TASTERS,
        Exact,
    )
    from panel.core.statistics.intervals import (
        clopper_pearson,
        wilson,
    )
    from panel.core.statistics.links import (
        CHANCE,
        Link,
    )
    from panel.core.statistics.page_trend import (
        trend_test,
    )
    from panel.core.statistics.paired_scores import (
        effect_within,
        paired_permutation,
        wilcoxon,
    )
    from panel.core.statistics.planning import (
        least_tasters,
        plan_difference,
        plan_similarity,
        power_of_similarity,
    )
    from panel.core.statistics.posterior import (
        flat_posterior,
    )
    from panel.core.statistics.power import (
        power_at,
        power_curve,
        smallest_detectable,
    )
    from panel.core.statistics.rank_power import (
        ranking_detectable,
        ranking_power,
        ranking_tasters,
    )
    from panel.core.statistics.rank_results import (
        EffectWithin,
        RankPair,
        RankPairs,
        RankTest,
        SignedTest,
        TrendTest,
    )
    from panel.core.statistics.rank_sums import (
        rank_pairs,
    )
    from panel.core.statistics.rate_groups import (
        RatesBetween,
        rates_between,
    )
    from panel.core.statistics.results import (
        BetaBinomial,
        BinomialTest,
        DPrimeEstimate,
        DPrimeInterval,
        Equivalence,
        Estimate,
        Evenness,
        HandTallyRow,
        Interval,
        IntervalMethod,
        Overdispersion,
        PlanNumbers,
        Posterior,
        PowerCurve,
        Sequential,
        SimilarityLimit,
        SimilarityTest,
        Stopping,
        Tally,
        TwoByTwo,
        WaldLines,
    )
    from panel.core.statistics.sensitivity import (
        distance_of,
        rates_at,
        sensitivity_of,
    )
    from panel.core.statistics.several import (
        holm,
    )
    from panel.core.statistics.tally import (
        tally_count,
    )
    from panel.core.statistics.two_by_two import (
        compare_groups,
        newcombe,
    )
    from panel.core.statistics.two_rates import (
        can_decide,
        power_of_groups,
        power_of_pairs,
        power_of_rates,
        rate_test,
        smallest_difference,
        tasters_for_rates,
    )
    from panel.core.statistics.wald import (
        followed,
        wald_lines,
    )

_HOME = {
    "any_time": ("deciding_counts", "e_value", "looked_at", "stopping"),
    "between_tasters": ("fit_beta_binomial",),
    "binomial": ("binomial_test", "critical_number", "max_correct", "p_value", "similarity_test"),
    "combined": ("combine",),
    "combined_results": ("Combined", "Panel"),
    "detection_results": ("RateTest", "RateTestKind", "Rates", "RatesNeeded", "Sensitivity"),
    "dprime": ("d_prime_from_pc", "pc_at_d_prime", "proportion_correct"),
    "equivalence": ("equivalent",),
    "estimates": ("d_prime", "discriminators", "pc_at_pd", "proportion"),
    "evenness": ("freeman_halton", "overdispersed"),
    "friedman": ("rank_test",),
    "hand_tally": ("hand_rates_rows", "hand_similarity_rows", "hand_tally_rows"),
    "inputs": ("MAX_TASTERS", "Exact"),
    "intervals": ("clopper_pearson", "wilson"),
    "links": ("CHANCE", "Link"),
    "page_trend": ("trend_test",),
    "paired_scores": ("effect_within", "paired_permutation", "wilcoxon"),
    "planning": ("least_tasters", "plan_difference", "plan_similarity", "power_of_similarity"),
    "posterior": ("flat_posterior",),
    "power": ("power_at", "power_curve", "smallest_detectable"),
    "rank_power": ("ranking_detectable", "ranking_power", "ranking_tasters"),
    "rank_results": (
        "EffectWithin",
        "RankPair",
        "RankPairs",
        "RankTest",
        "SignedTest",
        "TrendTest",
    ),
    "rank_sums": ("rank_pairs",),
    "results": (
        "BetaBinomial",
        "BinomialTest",
        "DPrimeEstimate",
        "DPrimeInterval",
        "Equivalence",
        "Estimate",
        "Evenness",
        "HandTallyRow",
        "Interval",
        "IntervalMethod",
        "Overdispersion",
        "PlanNumbers",
        "Posterior",
        "PowerCurve",
        "Sequential",
        "SimilarityLimit",
        "SimilarityTest",
        "Stopping",
        "Tally",
        "TwoByTwo",
        "WaldLines",
    ),
    "several": ("holm",),
    "rate_groups": ("RatesBetween", "rates_between"),
    "sensitivity": ("distance_of", "rates_at", "sensitivity_of"),
    "tally": ("tally_count",),
    "two_rates": (
        "can_decide",
        "power_of_groups",
        "power_of_pairs",
        "power_of_rates",
        "rate_test",
        "smallest_difference",
        "tasters_for_rates",
    ),
    "two_by_two": ("compare_groups", "newcombe"),
    "wald": ("followed", "wald_lines"),
}
_MODULE = {name: module for module, names in _HOME.items() for name in names}

__all__ = [
    "CHANCE",
    "MAX_TASTERS",
    "BetaBinomial",
    "BinomialTest",
    "Combined",
    "DPrimeEstimate",
    "DPrimeInterval",
    "EffectWithin",
    "Equivalence",
    "Estimate",
    "Evenness",
    "Exact",
    "HandTallyRow",
    "Interval",
    "IntervalMethod",
    "Link",
    "Overdispersion",
    "Panel",
    "PlanNumbers",
    "Posterior",
    "PowerCurve",
    "RankPair",
    "RankPairs",
    "RankTest",
    "RateTest",
    "RateTestKind",
    "Rates",
    "RatesBetween",
    "RatesNeeded",
    "Sensitivity",
    "Sequential",
    "SignedTest",
    "SimilarityLimit",
    "SimilarityTest",
    "Stopping",
    "Tally",
    "TrendTest",
    "TwoByTwo",
    "WaldLines",
    "binomial_test",
    "can_decide",
    "clopper_pearson",
    "combine",
    "compare_groups",
    "critical_number",
    "d_prime",
    "d_prime_from_pc",
    "deciding_counts",
    "discriminators",
    "distance_of",
    "e_value",
    "effect_within",
    "equivalent",
    "fit_beta_binomial",
    "flat_posterior",
    "followed",
    "freeman_halton",
    "hand_rates_rows",
    "hand_similarity_rows",
    "hand_tally_rows",
    "holm",
    "least_tasters",
    "looked_at",
    "max_correct",
    "newcombe",
    "overdispersed",
    "p_value",
    "paired_permutation",
    "pc_at_d_prime",
    "pc_at_pd",
    "plan_difference",
    "plan_similarity",
    "power_at",
    "power_curve",
    "power_of_groups",
    "power_of_pairs",
    "power_of_rates",
    "power_of_similarity",
    "proportion",
    "proportion_correct",
    "rank_pairs",
    "rank_test",
    "ranking_detectable",
    "ranking_power",
    "ranking_tasters",
    "rate_test",
    "rates_at",
    "rates_between",
    "sensitivity_of",
    "similarity_test",
    "smallest_detectable",
    "smallest_difference",
    "stopping",
    "tally_count",
    "tasters_for_rates",
    "trend_test",
    "wald_lines",
    "wilcoxon",
    "wilson",
]


def __getattr__(name: str) -> object:
    """Load the module that holds the name, once."""
    if name not in _MODULE:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    value: object = getattr(import_module(f"{__name__}.{_MODULE[name]}"), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return sorted(_MODULE)
