"""The count read with a flat prior, in sentences: the assumption first, then what follows from it.

A probability of a size needs a prior; nobody measured one here, so it is said aloud, and the
reading stands beside the locked rule and never in its place.
"""

from panel.core.comparison import Comparison
from panel.core.findings import Finding
from panel.core.message import Message, say
from panel.core.names import Aim
from panel.core.outcomes import Group
from panel.core.statistics.results import Posterior
from panel.core.wording.counts import ahead, beer_name
from panel.core.wording.in_words import in_100, limit_in_100

PRIOR_DECIDES_NOTHING = say(
    "This decides nothing; the rule that was locked does. Whoever held other sizes likely before "
    "will end with another answer."
)
"""Stands once wherever `say_posterior` speaks."""


def say_prior(finding: Finding, comparison: Comparison) -> tuple[Message, ...]:
    """Prior, interval, and the probability of more than matters; () without a posterior."""
    posterior = finding.posterior
    if posterior is None:
        return ()
    if finding.sides == 2:
        return _of_one(finding, posterior, comparison)
    if finding.group is Group.REPEAT:
        return _of_trays(finding, posterior)
    return _of_tasters(finding, posterior)


def _of_tasters(finding: Finding, posterior: Posterior) -> tuple[Message, ...]:
    interval = posterior.interval
    return (
        say(
            "Suppose that before the first cup every share of such tasters who truly tell the two "
            "apart, from nobody to all, was equally likely."
        ),
        say(
            "After these votes the share lies from %(low)s to %(high)s in 100 with a probability "
            "of 95 in 100, and as likely above %(middle)s in 100 as below.",
            low=in_100(interval.low),
            high=in_100(interval.high),
            middle=in_100(posterior.median),
        ),
        say(
            "That more than %(limit)s in 100 tell them apart, the size that matters by the plan, "
            "has a probability of %(probability)s.",
            limit=limit_in_100(finding.limit),
            probability=probability(posterior.beyond_limit),
        ),
    )


def _of_trays(finding: Finding, posterior: Posterior) -> tuple[Message, ...]:
    interval = posterior.interval
    return (
        say(
            "Suppose that before the first cup every share of trays in which this taster truly "
            "tells the two apart, from none to all, was equally likely."
        ),
        say(
            "After these answers the share lies from %(low)s to %(high)s in 100 with a probability "
            "of 95 in 100, and as likely above %(middle)s in 100 as below.",
            low=in_100(interval.low),
            high=in_100(interval.high),
            middle=in_100(posterior.median),
        ),
        say(
            "That it is more than %(limit)s in 100, the size that matters by the plan, has a "
            "probability of %(probability)s.",
            limit=limit_in_100(finding.limit),
            probability=probability(posterior.beyond_limit),
        ),
    )


def _of_one(finding: Finding, posterior: Posterior, comparison: Comparison) -> tuple[Message, ...]:
    """With two sides: the share that chooses the drink ahead, and how uneven the split is."""
    best, _, _ = ahead(finding, comparison)
    low, middle, high = posterior.interval.low, posterior.median, posterior.interval.high
    if best != finding.counted_beer:
        low, middle, high = 1 - high, 1 - middle, 1 - low
    uneven = limit_in_100((1 + finding.limit) / 2)
    return (
        _every_share(finding, comparison, beer_name(comparison, best)),
        say(
            "After these votes that share lies from %(low)s to %(high)s in 100 with a probability "
            "of 95 in 100, and as likely above %(middle)s in 100 as below.",
            low=in_100(low),
            high=in_100(high),
            middle=in_100(middle),
        ),
        say(
            "That more than %(uneven)s in 100 choose the same one, whichever it is, the size that "
            "matters by the plan, has a probability of %(probability)s.",
            uneven=uneven,
            probability=probability(posterior.beyond_limit),
        ),
    )


def _every_share(finding: Finding, comparison: Comparison, beer: str) -> Message:
    if finding.aim is Aim.PREFERENCE:
        return say(
            "Suppose that before the first cup every share that prefers %(beer)s, from nobody to "
            "all, was equally likely.",
            beer=beer,
        )
    return say(
        "Suppose that before the first cup every share that finds %(beer)s more %(attribute)s, "
        "from nobody to all, was equally likely.",
        beer=beer,
        attribute=comparison.plan.attribute,
    )


def probability(share: float) -> Message:
    """A probability in a hundred; never "0" and never "100"."""
    if share < 0.01:
        return say("less than 1 in 100")
    if share > 0.99:
        return say("more than 99 in 100")
    return say("about %(count)s in 100", count=in_100(share))
