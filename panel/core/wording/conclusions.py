"""What may be concluded from a finding, by the rule that was locked and no further."""

from panel.core.comparison import Comparison
from panel.core.findings import Finding, Verdict
from panel.core.message import Message, say
from panel.core.names import Aim, Looks
from panel.core.nose_first import decides_by_smell
from panel.core.outcomes import Group
from panel.core.wording.counts import ahead, beer_name
from panel.core.wording.in_words import how_often
from panel.core.wording.similarity import (
    not_similar,
    similar,
    some_can_tell,
    some_may_tell,
    still_fits,
)
from panel.core.wording.sizes import fits, how_many


def concluded(finding: Finding, comparison: Comparison) -> tuple[Message, ...]:
    """The sentences after the count."""
    match finding.verdict:
        case Verdict.COUNT_ONLY:
            return (count_only(),)
        case Verdict.TOO_FEW:
            return (_too_few(finding),)
        case Verdict.SHOWN:
            return (_shown(finding, comparison), how_many(finding, comparison))
        case Verdict.NOT_SHOWN:
            return (_not_shown(finding), *_only_all(finding), fits(finding, comparison))
        case Verdict.SIMILAR:
            return (similar(finding), *some_may_tell(finding), still_fits(finding, comparison))
        case Verdict.NOT_SIMILAR:
            return (*not_similar(finding, comparison), *some_can_tell(finding))


def count_only() -> Message:
    """Of a group that nobody planned."""
    return say(
        "Nobody planned this group: people are in it for what they knew. So it is shown, and no "
        "test is made of it."
    )


def _too_few(finding: Finding) -> Message:
    if finding.fewest is not None and not finding.tasters:
        return say("For a verdict at least %(fewest)s are needed.", fewest=finding.fewest)
    if finding.fewest is None:
        return say("So few cannot decide this question, so this is a count and no verdict.")
    if finding.aim is Aim.SIMILARITY:
        return say(
            "So few cannot show that two drinks are similar within the limit that was locked: at "
            "least %(fewest)s would be needed. So this is a count and no verdict.",
            fewest=finding.fewest,
        )
    if finding.sides == 2:
        return say(
            "Even if all had chosen the same one, so few would not be strong evidence: at least "
            "%(fewest)s would be needed. So this is a count and no verdict.",
            fewest=finding.fewest,
        )
    return say(
        "Even if all had been right, so few would not be strong evidence: at least %(fewest)s "
        "would be needed. So this is a count and no verdict.",
        fewest=finding.fewest,
    )


# --- a difference, a preference -------------------------------------------------------------------


def _shown(finding: Finding, comparison: Comparison) -> Message:
    """What counts as shown, and how often guessing alone does as well."""
    assert finding.test is not None  # a verdict is given to counted tasters only
    often = how_often(finding.test.p_value)
    if finding.sides == 2:
        return _shown_of_one(finding, comparison, often)
    match finding.group:
        case Group.INFORMED:
            return say(
                "By the rule locked beforehand that counts as a difference that people can find "
                "who know of it: guessing alone does as well in %(often)s panels of this size.",
                often=often,
            )
        case Group.REPEAT:
            return say(
                "By the rule locked beforehand that counts as a difference that this taster can "
                "find, and says nothing of others: guessing alone does as well in %(often)s such "
                "rows of trays.",
                often=often,
            )
        case _ if decides_by_smell(comparison.plan):
            return _smelled(comparison, often)
        case _ if comparison.serving.looks is Looks.DIFFERENT:
            return say(
                "By the rule locked beforehand that counts as a difference that people can notice, "
                "by eye or by taste: guessing alone does as well in %(often)s panels of this size.",
                often=often,
            )
        case _:
            return say(
                "By the rule locked beforehand that counts as a difference that people can taste: "
                "guessing alone does as well in %(often)s panels of this size.",
                often=often,
            )


def _smelled(comparison: Comparison, often: Message) -> Message:
    """The same of a choice that was made by smell alone."""
    if comparison.serving.looks is Looks.DIFFERENT:
        return say(
            "By the rule locked beforehand that counts as a difference that people can notice, "
            "by eye or by smell: guessing alone does as well in %(often)s panels of this size.",
            often=often,
        )
    return say(
        "By the rule locked beforehand that counts as a difference that people can smell: "
        "guessing alone does as well in %(often)s panels of this size.",
        often=often,
    )


def _shown_of_one(finding: Finding, comparison: Comparison, often: Message) -> Message:
    best, _, _ = ahead(finding, comparison)
    if finding.aim is Aim.PREFERENCE:
        return say(
            "By the rule locked beforehand that counts as a preference for %(beer)s: a coin falls "
            "as unevenly in %(often)s such rows of tosses.",
            beer=beer_name(comparison, best),
            often=often,
        )
    return say(
        "By the rule locked beforehand that counts as a difference, and %(beer)s as the more "
        "%(attribute)s: a coin falls as unevenly in %(often)s such rows of tosses.",
        beer=beer_name(comparison, best),
        attribute=comparison.plan.attribute,
        often=often,
    )


def _not_shown(finding: Finding) -> Message:
    if finding.aim is Aim.PREFERENCE:
        return say("That is not strong evidence of a preference.")
    return not_shown_of(finding.group)


def not_shown_of(group: Group) -> Message:
    """That a difference is not shown, by whom."""
    match group:
        case Group.INFORMED:
            return say(
                "That is not strong evidence of a difference, not even for people who know of it."
            )
        case Group.REPEAT:
            return say("That is not strong evidence that this taster can tell the two apart.")
        case _:
            return say("That is not strong evidence of a difference.")


def _only_all(finding: Finding) -> tuple[Message, ...]:
    """With as few as can decide at all, nothing but a clean sweep does."""
    if finding.decisive != finding.tasters:
        return ()
    if finding.sides == 2:
        return (say("With so few, only all of them choosing the same one would have done."),)
    return (say("With so few, only all of them right would have done."),)
