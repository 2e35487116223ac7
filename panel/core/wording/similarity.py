"""What may be said of likeness: only what the limit that was locked allows."""

from fractions import Fraction

from panel.core.comparison import Comparison
from panel.core.findings import Finding
from panel.core.message import Message, say
from panel.core.outcomes import Group
from panel.core.wording.in_words import how_often, in_100, limit_in_100
from panel.core.wording.sizes import fits


def similar(finding: Finding) -> Message:
    assert finding.similarity is not None  # the verdict is made from it
    limit, often = limit_in_100(finding.limit), how_often(finding.similarity.p_value)
    if finding.group is Group.REPEAT:
        return say(
            "By the limit locked beforehand the two are similar enough for this taster: if "
            "%(limit)s in 100 trays or more were truly told apart, so few right answers would "
            "come in %(often)s such rows of trays.",
            limit=limit,
            often=often,
        )
    if finding.sides == 2:
        return say(
            "By the limit locked beforehand the two are similar enough: if %(limit)s in 100 of "
            "such tasters or more could truly tell them apart, votes as even as these would come "
            "in %(often)s panels of this size.",
            limit=limit,
            often=often,
        )
    return say(
        "By the limit locked beforehand the two are similar enough: if %(limit)s in 100 of such "
        "tasters or more could truly tell them apart, so few right answers would come in "
        "%(often)s panels of this size.",
        limit=limit,
        often=often,
    )


def some_may_tell(finding: Finding) -> tuple[Message, ...]:
    """Similar within the limit and yet more than guessing gives: some can tell."""
    if finding.test is None or not finding.test.significant:
        return ()
    return (
        say(
            "Similar is not the same: some can tell the two apart, for guessing alone does as well "
            "in %(often)s panels of this size.",
            often=how_often(finding.test.p_value),
        ),
    )


def some_can_tell(finding: Finding) -> tuple[Message, ...]:
    """Not similar, and more than guessing gives."""
    if finding.test is None or not finding.test.significant:
        return ()
    return (
        say(
            "Some can tell the two apart: guessing alone does as well in %(often)s panels of this "
            "size.",
            often=how_often(finding.test.p_value),
        ),
    )


def still_fits(finding: Finding, comparison: Comparison) -> Message:
    """What fits; where that reaches past the limit, the larger risk of the locked rule is said."""
    assert finding.similarity is not None  # as above
    most = _most_discriminators(finding)
    if finding.below_guessing or in_100(most) <= in_100(float(finding.limit)):
        return fits(finding, comparison)
    return say(
        "That rule takes a risk of %(risk)s in 100; by the chart, which takes less, the votes "
        "still fit up to %(high)s in 100.",
        risk=limit_in_100(Fraction(finding.similarity.limit.beta)),
        high=in_100(most),
    )


def not_similar(finding: Finding, comparison: Comparison) -> tuple[Message, ...]:
    most = _most_discriminators(finding)
    if in_100(most) <= in_100(float(finding.limit)):
        sentence = say(
            "That does not show that the two are similar within the limit that was locked."
        )
        return sentence, fits(finding, comparison)
    return (
        say(
            "That does not show that the two are similar: the votes still fit up to %(high)s in "
            "100 truly telling them apart, and the limit was %(limit)s.",
            high=in_100(most),
            limit=limit_in_100(finding.limit),
        ),
    )


def _most_discriminators(finding: Finding) -> float:
    """The upper end of the discriminators' interval; with two sides, whichever beer they choose."""
    assert finding.tally is not None  # a verdict is given to counted tasters only
    interval = finding.tally.discriminators_interval
    return interval.high if finding.sides == 1 else max(interval.high, -interval.low)
