"""Nose first in sentences: who was right by smell, who after tasting, who changed their mind."""

from panel.core.comparison import Comparison
from panel.core.findings import Finding
from panel.core.message import Message, Number, PValue, say, say_n
from panel.core.outcomes import Group
from panel.core.steps_compared import Change, StepsCompared
from panel.core.wording.counts import beer_name, did, guessing_gives_of
from panel.core.wording.in_words import how_often
from panel.core.wording.rows import Row


def say_steps(
    steps: StepsCompared, finding: Finding, comparison: Comparison
) -> tuple[Message, ...]:
    """The two choices of one stratum's people held together. finding: that of the stratum."""
    return (
        _both(steps, finding, comparison),
        _changed(steps, finding, comparison),
        *_uneven(steps, finding, comparison),
        *_left_out(steps),
    )


DECIDES_NOTHING = say(
    "The two choices are of the same people, so they are compared person by person. Whether "
    "tasting helped is asked beside the locked question and decides nothing."
)


def _both(steps: StepsCompared, finding: Finding, comparison: Comparison) -> Message:
    verb = did(finding, comparison, finding.counted_beer)
    about = guessing_gives_of(steps.paired, finding.chance)
    if steps.group is Group.REPEAT:
        return say_n(
            "In the %(count)s tray with two choices the taster %(did)s %(nose)s times by smell and "
            "%(taste)s times after tasting; guessing alone would give %(about)s.",
            "In the %(count)s trays with two choices the taster %(did)s %(nose)s times by smell "
            "and %(taste)s times after tasting; guessing alone would give %(about)s.",
            steps.paired,
            did=verb,
            nose=steps.by_nose,
            taste=steps.by_taste,
            about=about,
        )
    return say(
        "Of %(tasters)s who chose twice, %(nose)s %(did)s by smell and %(taste)s after tasting; "
        "guessing alone would give %(about)s.",
        tasters=steps.paired,
        did=verb,
        nose=steps.by_nose,
        taste=steps.by_taste,
        about=about,
    )


def _changed(steps: StepsCompared, finding: Finding, comparison: Comparison) -> Message:
    helped, hurt = steps.count(Change.TO_RIGHT), steps.count(Change.TO_WRONG)
    if not steps.changed:
        return say("No choice was changed after tasting.")
    if finding.sides == 2:
        first, second = _beers(finding, comparison)
        return say_n(
            "One choice was changed after tasting: %(to)s to %(beer)s, %(away)s to %(other)s.",
            "%(count)s choices were changed after tasting: %(to)s to %(beer)s, %(away)s to "
            "%(other)s.",
            steps.changed,
            to=helped,
            beer=first,
            away=hurt,
            other=second,
        )
    if not steps.count(Change.OTHER_WRONG):
        return say_n(
            "One choice was changed after tasting: %(to)s from wrong to right, %(away)s from right "
            "to wrong.",
            "%(count)s choices were changed after tasting: %(to)s from wrong to right, %(away)s "
            "from right to wrong.",
            steps.changed,
            to=helped,
            away=hurt,
        )
    return say_n(
        "One choice was changed after tasting: %(to)s from wrong to right, %(away)s from right to "
        "wrong, %(lost)s from one wrong answer to another.",
        "%(count)s choices were changed after tasting: %(to)s from wrong to right, %(away)s from "
        "right to wrong, %(lost)s from one wrong answer to another.",
        steps.changed,
        to=helped,
        away=hurt,
        lost=steps.count(Change.OTHER_WRONG),
    )


def _uneven(steps: StepsCompared, finding: Finding, comparison: Comparison) -> tuple[Message, ...]:
    """How often chance alone splits the changes as unevenly; what that is evidence of."""
    if steps.test is None:
        return ()
    often = how_often(steps.test.p_value)
    helped, hurt = steps.count(Change.TO_RIGHT), steps.count(Change.TO_WRONG)
    split = say(
        "If tasting pulled neither way, a split as uneven as %(more)s to %(fewer)s would come in "
        "%(often)s such rows of changes.",
        more=max(helped, hurt),
        fewer=min(helped, hurt),
        often=often,
    )
    return split, _evidence(steps, finding, comparison)


def _evidence(steps: StepsCompared, finding: Finding, comparison: Comparison) -> Message:
    assert steps.test is not None  # the caller has looked
    helped = steps.count(Change.TO_RIGHT) > steps.count(Change.TO_WRONG)
    if finding.sides == 2:
        if not steps.test.significant:
            return say("That is not strong evidence that tasting pulled either way.")
        first, second = _beers(finding, comparison)
        return say("That is evidence that tasting pulled people towards %(beer)s.",
                   beer=first if helped else second)  # fmt: skip
    if not steps.test.significant:
        return say("That is not strong evidence that tasting helped or misled.")
    if helped:
        return say("That is evidence that tasting helped where the nose had erred.")
    return say("That is evidence that tasting misled people whose nose had been right.")


def _left_out(steps: StepsCompared) -> tuple[Message, ...]:
    out = steps.count(Change.UNDECIDED, Change.ONE_ONLY)
    if not out:
        return ()
    return (
        say_n(
            "One more ballot has only one of the two choices and is not in this.",
            "%(count)s more ballots have only one of the two choices and are not in this.",
            out,
        ),
    )


def _beers(finding: Finding, comparison: Comparison) -> tuple[str, str]:
    """The beer that is counted, and the other."""
    letters = [beer.letter for beer in comparison.beers[:2]]
    first = finding.counted_beer
    (second,) = [letter for letter in letters if letter != first]
    return beer_name(comparison, first), beer_name(comparison, second)


# --- for statisticians ----------------------------------------------------------------------------


def rows_of_steps(
    steps: StepsCompared, finding: Finding, comparison: Comparison
) -> tuple[Row, ...]:
    """The table of both choices, and McNemar's exact test."""
    rows = [
        Row(label, say("%(count)s", count=steps.count(*changes)))
        for label, changes in _labels(finding, comparison)
    ]
    if steps.test is not None:
        label = say("McNemar’s exact test of the changes, two-sided")
        rows.append(Row(label, say("%(p)s", p=PValue(steps.test.p_value))))
    if steps.interval is not None:
        helped = steps.count(Change.TO_RIGHT)
        share = helped / (helped + steps.count(Change.TO_WRONG))
        rows.append(
            Row(
                say("Share of the changes that went that way (Clopper–Pearson, two-sided)")
                if finding.sides == 2
                else say(
                    "Share to right among changes of being right (Clopper–Pearson, two-sided)"
                ),
                say(
                    "%(value)s (%(low)s to %(high)s)",
                    value=Number(share, 3),
                    low=Number(steps.interval.low, 3),
                    high=Number(steps.interval.high, 3),
                ),
            )
        )
    return tuple(rows)


def _labels(
    finding: Finding, comparison: Comparison
) -> tuple[tuple[Message, tuple[Change, ...]], ...]:
    lone = (Change.UNDECIDED, Change.ONE_ONLY)
    if finding.sides == 2:
        first, second = _beers(finding, comparison)
        return (
            (say("By smell and after tasting: %(beer)s", beer=first), (Change.STAYED_RIGHT,)),
            (say("By smell and after tasting: %(beer)s", beer=second), (Change.STAYED_WRONG,)),
            (say("Changed after tasting, to %(beer)s", beer=first), (Change.TO_RIGHT,)),
            (say("Changed after tasting, to %(beer)s", beer=second), (Change.TO_WRONG,)),
            (say("With only one of the two choices"), lone),
        )
    return (
        (say("Right by smell, right after tasting"), (Change.STAYED_RIGHT,)),
        (say("Wrong by smell, right after tasting"), (Change.TO_RIGHT,)),
        (say("Right by smell, wrong after tasting"), (Change.TO_WRONG,)),
        (say("Wrong both times, the same answer"), (Change.STAYED_WRONG,)),
        (say("Wrong both times, another answer"), (Change.OTHER_WRONG,)),
        (say("With only one of the two choices"), lone),
    )
