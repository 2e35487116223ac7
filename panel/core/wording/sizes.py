"""The sizes of a difference that the votes fit, or that something went wrong."""

from panel.core.comparison import Comparison
from panel.core.findings import Finding
from panel.core.message import Message, say
from panel.core.methods import method_named
from panel.core.names import Aim
from panel.core.outcomes import Group
from panel.core.wording.counts import ahead, beer_name
from panel.core.wording.in_words import few_to_all, from_to, in_100


def fits(finding: Finding, comparison: Comparison) -> Message:
    """What the interval leaves open; or, far below chance, that something went wrong."""
    assert finding.tally is not None  # as above
    if finding.sides == 2:
        return _fits_of_one(finding, comparison)
    if finding.below_guessing:
        return _below(finding)
    trays = finding.group is Group.REPEAT
    interval = finding.tally.discriminators_interval
    low, high = from_to(interval.low, interval.high, trays=trays)
    if trays:
        return say(
            "The answers fit anything from %(low)s to %(high)s truly told apart.",
            low=low,
            high=high,
        )
    return say(
        "The votes fit anything from %(low)s to %(high)s truly telling the two apart.",
        low=low,
        high=high,
    )


def _fits_of_one(finding: Finding, comparison: Comparison) -> Message:
    assert finding.tally is not None  # as above
    best, _, _ = ahead(finding, comparison)
    interval = finding.tally.interval
    ends = interval.low, interval.high
    if best != finding.counted_beer:
        ends = 1 - interval.high, 1 - interval.low
    low, high = from_to(*ends, trays=finding.group is Group.REPEAT)
    if finding.aim is Aim.PREFERENCE:
        return say(
            "The votes fit anything from %(low)s to %(high)s preferring %(beer)s.",
            low=low,
            high=high,
            beer=beer_name(comparison, best),
        )
    return say(
        "The votes fit anything from %(low)s to %(high)s finding %(beer)s more %(attribute)s.",
        low=low,
        high=high,
        beer=beer_name(comparison, best),
        attribute=comparison.plan.attribute,
    )


def _below(finding: Finding) -> Message:
    if method_named(finding.method).directional:
        return say(
            "That is even fewer than guessing usually gives: it may be that the other drink has "
            "more of it, or that cups were mixed up. Look into it before believing anything here."
        )
    return say(
        "That is even fewer than guessing usually gives: cups, cards or beers may have been mixed "
        "up. Look into it before believing anything here."
    )


def how_many(finding: Finding, comparison: Comparison) -> Message:
    """The best guess and what else fits, where a difference counts as shown."""
    assert finding.tally is not None  # a verdict is given to counted tasters only
    if finding.sides == 2:
        return _fits_of_one(finding, comparison)
    share = in_100(finding.tally.discriminators)
    low, high = few_to_all(finding.tally.discriminators_interval)
    if finding.group is Group.REPEAT:
        return say(
            "At a best guess, this taster truly tells the two apart in %(count)s of 100 trays and "
            "guesses in the others; the answers fit anything from %(low)s to %(high)s.",
            count=share,
            low=low,
            high=high,
        )
    return say(
        "At a best guess, %(count)s in 100 of such tasters truly tell the two apart and the others "
        "guess; the votes fit anything from %(low)s to %(high)s.",
        count=share,
        low=low,
        high=high,
    )
