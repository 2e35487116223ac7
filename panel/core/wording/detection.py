"""Hits and false alarms in sentences: what was called so, what follows, how readily it was said.

The rules of the wording stand at the top of `core.wording`.
"""

from panel.core.comparison import Comparison
from panel.core.detection import DetectionFinding
from panel.core.detection_difference import DetectionDifference
from panel.core.findings import Verdict
from panel.core.message import Message, say
from panel.core.methods import Detection, method_named
from panel.core.names import Looks
from panel.core.nose_first import decides_by_smell
from panel.core.outcomes import Group
from panel.core.statistics.results import Interval
from panel.core.wording.conclusions import count_only, not_shown_of
from panel.core.wording.counts import NOBODY
from panel.core.wording.differences import how_strong, two_verdicts, where, who_came
from panel.core.wording.in_words import how_often

READILY = 0.25
"""How far the line has to lie from the middle before it is said, in standard deviations; and the
shares of same pairs that are called different around the usual third. Our own, no source."""
OFTEN, SELDOM = 0.45, 0.2
OF_ALL = 0.6
"""Where a rate of nought or one leaves the line without a place: of both kinds of cup, each counted
as one half, the share that is called so."""


def method_of(finding: DetectionFinding) -> Detection:
    """Its method."""
    method = method_named(finding.method)
    assert isinstance(method, Detection)  # no other has such a finding
    return method


# Written out whole for each group, so that every language can build its own sentence.
_CALLED = {
    Group.BLINDED: say(
        "Blinded tasters called %(hits)s of %(targets)s %(true)s “%(answer)s”, and so %(alarms)s "
        "of %(others)s %(false)s."
    ),
    Group.INFORMED: say(
        "Tasters who knew what was changed called %(hits)s of %(targets)s %(true)s “%(answer)s”, "
        "and so %(alarms)s of %(others)s %(false)s."
    ),
    Group.TOLD: say(
        "Tasters who had been told at the table called %(hits)s of %(targets)s %(true)s "
        "“%(answer)s”, and so %(alarms)s of %(others)s %(false)s."
    ),
    Group.REPEAT: say(
        "The one taster called %(hits)s of %(targets)s %(true)s “%(answer)s”, and so %(alarms)s "
        "of %(others)s %(false)s."
    ),
}


def counted_signs(finding: DetectionFinding) -> tuple[Message, ...]:
    """How often either thing was called so, and what somebody who cannot tell does."""
    if not finding.tasters:
        return (NOBODY[finding.group],)
    return (
        _called(_CALLED[finding.group], finding),
        say("Whoever cannot tell them apart calls both so equally often."),
    )


def _called(sentence: Message, finding: DetectionFinding) -> Message:
    """14 of 20 cups of A “A”, and so 7 of 20 cups of the other drink."""
    method, rates = method_of(finding), finding.rates
    return say(
        sentence.id,
        answer=method.called,
        hits=rates.hits,
        targets=rates.targets,
        true=method.targets,
        alarms=rates.false_alarms,
        others=rates.others,
        false=method.others,
    )


def concluded_of_signs(finding: DetectionFinding, comparison: Comparison) -> tuple[Message, ...]:
    """The sentences after the count."""
    match finding.verdict:
        case Verdict.COUNT_ONLY:
            return (count_only(),)
        case Verdict.SHOWN:
            return (_shown(finding, comparison), *_excess(finding), *_line(finding))
        case Verdict.NOT_SHOWN:
            return (_not_shown(finding), *_excess(finding), *_line(finding))
        case _:
            return (_too_few(finding),)


def _too_few(finding: DetectionFinding) -> Message:
    if finding.fewest is None:
        return say("So few cannot decide this question, so this is a count and no verdict.")
    if not finding.tasters:
        return say("For a verdict at least %(fewest)s are needed.", fewest=finding.fewest)
    return say(
        "Whatever they had answered, so few would not be strong evidence: at least %(fewest)s "
        "would be needed, as many trays of either kind as may be. So this is a count and no "
        "verdict.",
        fewest=finding.fewest,
    )


def _shown(finding: DetectionFinding, comparison: Comparison) -> Message:
    assert finding.test is not None  # a verdict is given to counted tasters only
    often = how_often(finding.test.p_value)
    different = comparison.serving.looks is Looks.DIFFERENT
    match finding.group:
        case Group.INFORMED:
            return say(
                "By the rule locked beforehand that counts as a difference that people can find "
                "who know of it: people who cannot tell do as well in %(often)s panels of this "
                "size.",
                often=often,
            )
        case Group.REPEAT:
            return say(
                "By the rule locked beforehand that counts as a difference that this taster can "
                "find, and says nothing of others: somebody who cannot tell does as well in "
                "%(often)s such rows of trays.",
                often=often,
            )
        case _ if decides_by_smell(comparison.plan):
            return say(
                "By the rule locked beforehand that counts as a difference that people can notice "
                "without tasting: people who cannot tell do as well in %(often)s panels of this "
                "size.",
                often=often,
            )
        case _ if different:
            return say(
                "By the rule locked beforehand that counts as a difference that people can notice, "
                "by eye or by taste: people who cannot tell do as well in %(often)s panels of this "
                "size.",
                often=often,
            )
        case _:
            return say(
                "By the rule locked beforehand that counts as a difference that people can taste: "
                "people who cannot tell do as well in %(often)s panels of this size.",
                often=often,
            )


def _not_shown(finding: DetectionFinding) -> Message:
    if finding.below_guessing:
        return say(
            "The answer was even given more often where it was not true: cups, cards or drinks "
            "may have been mixed up, or the question was understood the other way round. Look "
            "into it before believing anything here."
        )
    return not_shown_of(finding.group)


def _excess(finding: DetectionFinding) -> tuple[Message, ...]:
    """By how much it was said more often where it was true, and what else the answers fit."""
    assert finding.test is not None  # as above
    if finding.below_guessing:
        return ()
    return (
        say(
            "“%(answer)s” was said %(more)s where it was true; the answers fit %(range)s.",
            answer=method_of(finding).called,
            more=_more(finding.test.difference),
            range=_range(finding.test.interval),
        ),
    )


def _more(difference: float) -> Message:
    points = abs(round(100 * difference))
    if points == 0:
        return say("as often where it was not true as")
    if difference < 0:
        return say("%(points)s in 100 less often", points=points)
    return say("%(points)s in 100 more often", points=points)


def _range(interval: Interval) -> Message:
    low, high = abs(round(100 * interval.low)), abs(round(100 * interval.high))
    if interval.low >= 0:
        return say("anything from %(low)s to %(high)s more", low=low, high=high)
    if interval.high <= 0:
        return say("anything from %(low)s to %(high)s fewer", low=high, high=low)
    return say("anything from %(low)s fewer to %(high)s more", low=low, high=high)


def _line(finding: DetectionFinding) -> tuple[Message, ...]:
    """How readily the answer was given: that is no matter of telling apart."""
    assert finding.sensitivity is not None  # as above
    method = method_of(finding)
    answer = method.called
    if method.line == "same-different":
        share = finding.rates.false_alarms / finding.rates.others
        all_told = finding.rates.hits / finding.rates.targets > 1 - SELDOM
        quick, slow = share > OFTEN, share < SELDOM and not all_told
    else:
        quick, slow = _beside_the_middle(finding)
    if quick:
        return (
            say(
                "They were quick to say “%(answer)s”, which is a habit and no sign of telling "
                "apart.",
                answer=answer,
            ),
        )
    if slow:
        return (
            say(
                "They were slow to say “%(answer)s”, which is a habit and no sign of failing to "
                "tell apart.",
                answer=answer,
            ),
        )
    return ()


def _beside_the_middle(finding: DetectionFinding) -> tuple[bool, bool]:
    """Whether a yes-no answer is given quickly, or slowly."""
    assert finding.sensitivity is not None  # as above
    assert finding.test is not None
    place = finding.sensitivity.criterion
    if place is not None:
        return place < -READILY, place > READILY
    share = (finding.test.hit_rate + finding.test.false_alarm_rate) / 2
    return share >= OF_ALL, share <= 1 - OF_ALL


# --- with others ----------------------------------------------------------------------------------


_WITH_TOLD = say(
    "With those who had been told at the table %(hits)s of %(targets)s %(true)s were called "
    "“%(answer)s”, and so %(alarms)s of %(others)s %(false)s."
)


def signs_with_told(finding: DetectionFinding) -> tuple[Message, ...]:
    """What the blinded finding would be with those who were told at the table; () without any."""
    other = finding.with_told
    if other is None or not other.tasters:
        return ()
    with_them = _called(_WITH_TOLD, other)
    if other.verdict is finding.verdict:
        return with_them, say("The conclusion would be the same.")
    return with_them, say("By the locked rule the conclusion would be another: mind that.")


def signs_compared(
    difference: DetectionDifference, finding: DetectionFinding, comparison: Comparison
) -> tuple[Message, ...]:
    """What knowing does, in sentences. finding: one of the two groups, for what they were asked."""
    return (
        *(() if difference.whole else (where(difference, comparison),)),
        _each(difference, finding),
        _how_much(difference),
        how_strong(difference, float(comparison.plan.alpha)),
        who_came(difference),
        *two_verdicts(difference),
    )


def _each(difference: DetectionDifference, finding: DetectionFinding) -> Message:
    informed, blinded = difference.informed, difference.blinded
    return say(
        "Those who knew said “%(answer)s” of %(hits)s of %(targets)s where it was true and of "
        "%(alarms)s of %(others)s where it was not; those who did not know, of %(their_hits)s of "
        "%(their_targets)s and of %(their_alarms)s of %(their_others)s.",
        answer=method_of(finding).called,
        hits=informed.hits,
        targets=informed.targets,
        alarms=informed.false_alarms,
        others=informed.others,
        their_hits=blinded.hits,
        their_targets=blinded.targets,
        their_alarms=blinded.false_alarms,
        their_others=blinded.others,
    )


def _how_much(difference: DetectionDifference) -> Message:
    points = abs(round(100 * difference.compared.difference))
    range_ = _range(difference.compared.interval)
    if points == 0:
        return say("They told the two apart equally well; the answers fit %(range)s.", range=range_)
    if difference.compared.difference > 0:
        return say(
            "So those who knew told the two apart better, by %(points)s points in 100; the answers "
            "fit %(range)s.",
            points=points,
            range=range_,
        )
    return say(
        "So those who knew told the two apart less well, by %(points)s points in 100; the answers "
        "fit %(range)s.",
        points=points,
        range=range_,
    )
