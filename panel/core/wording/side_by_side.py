"""Findings side by side in words: what several panels fit together, and how little that may be."""

from panel.core.message import Message, Number, PValue, Share, say, say_n
from panel.core.names import Aim, Information
from panel.core.side_by_side import Apart, Together
from panel.core.statistics.combined_results import Combined
from panel.core.wording.in_words import from_to, how_often, in_100
from panel.core.wording.rows import Row, interval_of

APART_BELOW = 0.1
"""Rarer spread than this is said to be more than chance: the usual line for Cochran's Q, which
finds little among few panels (Cochrane Handbook, chapter 10, from memory)."""

NOTES = (
    say(
        "The same variable is not the same change: look at what was changed each time, and in "
        "which drink."
    ),
    say(
        "Nobody counts here how many panels showed a difference and how many did not. A panel that "
        "shows none may fit the same sizes as one that does."
    ),
    say(
        "Only published comparisons stand here, and they are perhaps not all that were made. Where "
        "those that found nothing stay in a drawer, what is left tells too much."
    ),
    say(
        "Members who tasted in more than one panel are counted in each, for ballots have no names. "
        "A range over several panels is then somewhat too narrow."
    ),
)
"""What holds of every page of findings side by side."""

INFORMATION = {
    Information.BLINDED: (say("Blinded"), say("told nothing of what was changed")),
    Information.INFORMED: (say("Informed"), say("knew what was changed")),
}
"""Heading of each, and what it means."""

_APART = {
    Apart.NOBODY: say("Nobody's choice was counted in this group."),
    Apart.TOLD: say("These tasters sat with the blinded and knew. They are counted, no more."),
    Apart.REPEAT: say("These are the trays of one taster. They say nothing of other people."),
    Apart.SIDES: say(
        "Here people chose one of two drinks and neither answer is wrong, so there is no share of "
        "people who tell them apart."
    ),
    Apart.OTHER_SCALE: say(
        "This test does not count right answers against guessing, so its numbers have another "
        "scale."
    ),
}


def say_apart(reason: Apart) -> Message:
    """Why a finding is not on the picture."""
    return _APART[reason]


def question_of(together: Together) -> Message:
    """What was asked of a design: the heading where there are several."""
    asked = together.entries[0].comparison.plan.attribute
    similar = together.design.aim is Aim.SIMILARITY
    if together.design.asked:
        question = say("Which one is more %(attribute)s?", attribute=asked)
        if similar:
            question = say("Are they close enough in how %(attribute)s they are?", attribute=asked)
    else:
        question = say("Can the two be told apart?")
        if similar:
            question = say("Are the two close enough?")
    if together.design.by_smell:
        return say("%(question)s By smell alone", question=question)
    return question


def say_together(together: Together) -> tuple[tuple[Message, ...], ...]:
    """Paragraphs: one number for several panels and how little it may say; how far they lie apart.
    Of one finding alone, that there is nothing to combine."""
    combined = together.combined
    if combined is None:
        return ((say("One finding alone: there is nothing to combine it with."),),)
    few = say("Few panels together still say little. How little, the range says.")
    return ((*_common(combined), few), (_spread(combined), *_tests(together)))


def _common(combined: Combined) -> tuple[Message, ...]:
    interval = combined.common.interval
    if interval.high < 0:
        return (
            say_n(
                "In this panel fewer were right than guessing usually gives.",
                "Taken together, in these %(count)s panels fewer were right than guessing usually "
                "gives.",
                combined.panels,
            ),
            say(
                "Cups, cards or drinks may have been mixed up in one of them. Look into it before "
                "believing any number here."
            ),
        )
    low, high = from_to(interval.low, interval.high, trays=False)
    if combined.common.value <= 0:
        return (
            say_n(
                "In this panel no more were right than guessing gives; the votes fit anything from "
                "%(low)s to %(high)s truly telling the two apart.",
                "Taken together, in these %(count)s panels no more were right than guessing gives; "
                "the votes fit anything from %(low)s to %(high)s truly telling the two apart.",
                combined.panels,
                low=low,
                high=high,
            ),
        )
    return (
        say_n(
            "At a best guess, in this panel %(share)s in 100 of such tasters truly tell the two "
            "apart and the others guess; the votes fit anything from %(low)s to %(high)s.",
            "At a best guess from these %(count)s panels together, %(share)s in 100 of such "
            "tasters truly tell the two apart and the others guess; the votes fit anything from "
            "%(low)s to %(high)s.",
            combined.panels,
            share=in_100(combined.common.value),
            low=low,
            high=high,
        ),
    )


def _spread(combined: Combined) -> Message:
    often = how_often(combined.p_value)
    if combined.p_value < APART_BELOW:
        return say(
            "The panels lie farther apart than chance usually puts them: if all had the same "
            "share, %(often)s such sets of panels would lie as far apart. Then one number for all "
            "of them hides something; look at each.",
            often=often,
        )
    return say(
        "The panels lie no farther apart than chance may put them: if all had the same share, "
        "%(often)s such sets of panels would lie as far apart. With so few that does not show "
        "that they have the same.",
        often=often,
    )


def _tests(together: Together) -> tuple[Message, ...]:
    if len(together.methods) < 2:
        return ()
    return (
        say(
            "They used different tests. Some tests let more of the same people find a difference "
            "than others, so panels may lie apart for that alone."
        ),
    )


def combined_rows(combined: Combined) -> tuple[Row, ...]:
    """Everything that was computed of panels together, in the trade's terms."""
    weights = ", ".join(f"{weight:.2f}" for weight in combined.weights)
    spread = say(
        "%(q)s on %(freedom)s degrees of freedom, p %(p)s",
        q=Number(combined.q, 2),
        freedom=combined.freedom,
        p=PValue(combined.p_value),
    )
    rows = [
        Row(
            say("Common proportion of discriminators, exact interval (not cut off at 0)"),
            interval_of(combined.common.value, combined.common.interval),
        ),
        Row(
            say("Weights n(1 − p0)/p0, as shares, in the order of the picture"),
            say("%(weights)s", weights=weights),
        ),
        Row(say("Cochran's Q (chi-square, approximate)"), spread),
        Row(
            say("I², the part of the spread beyond chance"),
            say("%(share)s", share=Share(combined.i_squared)),
        ),
        Row(
            say("tau², variance between panels (DerSimonian and Laird)"),
            say("%(value)s", value=Number(combined.tau_squared, 4)),
        ),
    ]
    if combined.mean is not None:
        rows.append(
            Row(
                say("Mean over panels that differ (random effects; Hartung and Knapp)"),
                interval_of(combined.mean.value, combined.mean.interval),
            )
        )
    return tuple(rows)
