"""What knowing does, in sentences: the told at the table, and informed held against blinded."""

from fractions import Fraction

from panel.core.comparison import Comparison
from panel.core.difference import Basis, Difference
from panel.core.findings import Finding
from panel.core.kinds import AnyDifference
from panel.core.message import Message, PValue, say, say_n
from panel.core.wording.counts import did
from panel.core.wording.in_words import limit_in_100


def say_counts_compared(
    difference: Difference, finding: Finding, comparison: Comparison
) -> tuple[Message, ...]:
    """The difference in sentences. finding: one of the two groups, for what they did. Where it is
    of some of the tasters only, it says first of which."""
    return (
        *_of_whom(difference, comparison),
        _how_much(difference, did(finding, comparison, finding.counted_beer)),
        how_strong(difference, float(comparison.plan.alpha)),
        *_alike(difference, float(comparison.plan.alpha)),
        who_came(difference),
        *two_verdicts(difference),
    )


def _of_whom(difference: Difference, comparison: Comparison) -> tuple[Message, ...]:
    if difference.whole:
        return ()
    return (
        where(difference, comparison),
        say(
            "Of those who knew, %(informed_correct)s of %(informed)s; of those who did not, "
            "%(blinded_correct)s of %(blinded)s.",
            informed_correct=difference.informed_correct,
            informed=difference.informed_tasters,
            blinded_correct=difference.blinded_correct,
            blinded=difference.blinded_tasters,
        ),
    )


def where(difference: AnyDifference, comparison: Comparison) -> Message:
    """Of which tasters a difference is that is not of all."""
    sittings = len(difference.sittings)
    match difference.basis:
        case Basis.SPLIT if not comparison.plan.join_sittings:
            names = {sitting.id: sitting.name for sitting in comparison.sittings}
            return say(
                "In the sitting “%(sitting)s”, which was split by lot:",
                sitting=names[difference.sittings[0]],
            )
        case Basis.SPLIT:
            return say_n(
                "In the sitting that was split by lot:",
                "In the %(count)s sittings that were split by lot:",
                sittings,
            )
        case Basis.SITTINGS_DRAWN:
            return say("Between the sittings to which lots brought people:")
        case Basis.NOT_DRAWN:
            return say("Between the sittings for which nobody drew lots, apart from the others:")


def _points(share: float) -> int:
    return abs(round(100 * share))


def _how_much(difference: Difference, verb: Message) -> Message:
    points = _points(difference.compared.difference)
    range_ = _range(difference)
    if points == 0:
        return say(
            "Those who knew and those who did not %(did)s equally often; the votes fit %(range)s.",
            did=verb,
            range=range_,
        )
    if difference.compared.difference > 0:
        return say(
            "Those who knew %(did)s more often, by %(points)s points in 100; the votes fit "
            "%(range)s.",
            did=verb,
            points=points,
            range=range_,
        )
    return say(
        "Those who knew %(did)s less often, by %(points)s points in 100; the votes fit %(range)s.",
        did=verb,
        points=points,
        range=range_,
    )


def _range(difference: Difference) -> Message:
    interval = difference.compared.interval
    low, high = _points(interval.low), _points(interval.high)
    if interval.low >= 0:
        return say("anything from %(low)s to %(high)s more", low=low, high=high)
    if interval.high <= 0:
        return say("anything from %(low)s to %(high)s fewer", low=high, high=low)
    return say("anything from %(low)s fewer to %(high)s more", low=low, high=high)


def how_strong(difference: AnyDifference, alpha: float) -> Message:
    """Whether it is strong evidence that knowing changes anything."""
    p = PValue(difference.compared.p_value)
    if not difference.strong(alpha):
        return say(
            "That is not strong evidence that knowing changes what people find (exact p-value "
            "%(p)s).",
            p=p,
        )
    if difference.drawn:
        return say(
            "That is strong evidence that knowing changes what people find (exact p-value %(p)s).",
            p=p,
        )
    return say(
        "That is strong evidence that the two groups are not alike (exact p-value %(p)s).", p=p
    )


def _alike(difference: Difference, alpha: float) -> tuple[Message, ...]:
    """Not shown to differ is not shown to be alike: which of them the votes bear."""
    if difference.equivalence is None:
        return ()
    points = limit_in_100(Fraction(difference.equivalence.margin))
    if difference.equivalence.alike:
        return (
            say(
                "It is strong evidence that the two groups are less than %(points)s points in 100 "
                "apart, which is what the difference that matters by the plan adds to guessing.",
                points=points,
            ),
        )
    if difference.strong(alpha):
        return ()
    return (
        say(
            "Nor is it strong evidence that they are less than %(points)s points in 100 apart, "
            "which is what the difference that matters by the plan adds to guessing.",
            points=points,
        ),
    )


def who_came(difference: AnyDifference) -> Message:
    """Whether lots made the groups, or people themselves."""
    if difference.drawn:
        return say(
            "Lots decided who was told, and all are counted in the group that they were drawn for."
        )
    return say(
        "Nobody drew lots for the groups: it may be who came, and not what they knew.",
    )


def two_verdicts(difference: AnyDifference) -> tuple[Message, ...]:
    """That two verdicts are no difference, where they are opposite."""
    if not difference.verdicts_differ:
        return ()
    return (
        say(
            "That one group reaches its mark and the other does not is not itself a difference "
            "between them."
        ),
    )


def say_counts_with_told(finding: Finding, comparison: Comparison) -> tuple[Message, ...]:
    """What the blinded finding would be with those who were told at the table; () without any."""
    other = finding.with_told
    if other is None or not other.tasters:
        return ()
    verb = did(finding, comparison, finding.counted_beer)
    with_them = say(
        "With those who had been told at the table, %(correct)s of %(count)s %(did)s.",
        correct=other.correct,
        count=other.tasters,
        did=verb,
    )
    if other.verdict is finding.verdict:
        return with_them, say("The conclusion would be the same.")
    return with_them, say("By the locked rule the conclusion would be another: mind that.")
