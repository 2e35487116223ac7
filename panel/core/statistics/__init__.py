"""Exact statistics of counts: critical numbers, power, d-prime, intervals, two groups.

The one room of the core that uses numpy and scipy (scipy.special only). This door opens lazily
(PEP 562): importing the room loads neither; the first function that is asked for does. Results
(`results`), links and limits on input are standard library throughout.
"""

from importlib import import_module
from typing import TYPE_CHECKING

# The names thrice: for type checkers, for __getattr__, and as what is public. A test compares them.
if TYPE_CHECKING:
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
    from panel.core.statistics.dprime import (
        d_prime_from_pc,
        pc_at_d_prime,
        proportion_correct,
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
    from panel.core.statistics.hand_tally import (
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
    from panel.core.statistics.results import (
        BetaBinomial,
        BinomialTest,
        DPrimeEstimate,
        DPrimeInterval,
        Estimate,
        Evenness,
        HandTallyRow,
        Interval,
        IntervalMethod,
        Overdispersion,
        PlanNumbers,
        Posterior,
        PowerCurve,
        SimilarityLimit,
        SimilarityTest,
        Tally,
        TwoByTwo,
    )
    from panel.core.statistics.tally import (
        tally_count,
    )
    from panel.core.statistics.two_by_two import (
        compare_groups,
        newcombe,
    )

_HOME = {
    "between_tasters": ("fit_beta_binomial",),
    "binomial": ("binomial_test", "critical_number", "max_correct", "p_value", "similarity_test"),
    "dprime": ("d_prime_from_pc", "pc_at_d_prime", "proportion_correct"),
    "estimates": ("d_prime", "discriminators", "pc_at_pd", "proportion"),
    "evenness": ("freeman_halton", "overdispersed"),
    "hand_tally": ("hand_similarity_rows", "hand_tally_rows"),
    "inputs": ("MAX_TASTERS", "Exact"),
    "intervals": ("clopper_pearson", "wilson"),
    "links": ("CHANCE", "Link"),
    "planning": ("least_tasters", "plan_difference", "plan_similarity", "power_of_similarity"),
    "posterior": ("flat_posterior",),
    "power": ("power_at", "power_curve", "smallest_detectable"),
    "results": (
        "BetaBinomial",
        "BinomialTest",
        "DPrimeEstimate",
        "DPrimeInterval",
        "Estimate",
        "Evenness",
        "HandTallyRow",
        "Interval",
        "IntervalMethod",
        "Overdispersion",
        "PlanNumbers",
        "Posterior",
        "PowerCurve",
        "SimilarityLimit",
        "SimilarityTest",
        "Tally",
        "TwoByTwo",
    ),
    "tally": ("tally_count",),
    "two_by_two": ("compare_groups", "newcombe"),
}
_MODULE = {name: module for module, names in _HOME.items() for name in names}

__all__ = [
    "CHANCE",
    "MAX_TASTERS",
    "BetaBinomial",
    "BinomialTest",
    "DPrimeEstimate",
    "DPrimeInterval",
    "Estimate",
    "Evenness",
    "Exact",
    "HandTallyRow",
    "Interval",
    "IntervalMethod",
    "Link",
    "Overdispersion",
    "PlanNumbers",
    "Posterior",
    "PowerCurve",
    "SimilarityLimit",
    "SimilarityTest",
    "Tally",
    "TwoByTwo",
    "binomial_test",
    "clopper_pearson",
    "compare_groups",
    "critical_number",
    "d_prime",
    "d_prime_from_pc",
    "discriminators",
    "fit_beta_binomial",
    "flat_posterior",
    "freeman_halton",
    "hand_similarity_rows",
    "hand_tally_rows",
    "least_tasters",
    "max_correct",
    "newcombe",
    "overdispersed",
    "p_value",
    "pc_at_d_prime",
    "pc_at_pd",
    "plan_difference",
    "plan_similarity",
    "power_at",
    "power_curve",
    "power_of_similarity",
    "proportion",
    "proportion_correct",
    "similarity_test",
    "smallest_detectable",
    "tally_count",
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
