"""What the hand tally says and looks up where hits are held against false alarms."""

from fractions import Fraction

from panel.core.comparison import Comparison
from panel.core.message import Message, say
from panel.core.methods import Detection
from panel.core.statistics.hand_tally import hand_rates_rows, hand_tally_rows
from panel.printing.sheet import share_of
from panel.printing.tally_words import HandTally, before_and_after

MOST_ROWS = 58
"""As many as have room on a page."""


def signs_tally(comparison: Comparison, method: Detection) -> HandTally:
    """Cards are sorted by what was true and what was said."""
    if method.paired:
        return _pairs(comparison, method)
    return _groups(comparison, method)


def _groups(comparison: Comparison, method: Detection) -> HandTally:
    """One answer a card: the table is for as many trays of either kind as are planned."""
    tasters = comparison.plan.tasters
    targets, others = tasters - tasters // 2, tasters // 2
    rows = hand_rates_rows(targets, others, comparison.plan.alpha) if others else ()
    return HandTally(
        steps=before_and_after(
            comparison,
            say(
                "For every other card find its number in the key. At the end of the line stands "
                "what is true. Sort the cards by it into two heaps, and count in each heap the "
                "cards that say “%(answer)s”.",
                answer=method.called,
            ),
        ),
        written=(
            say("First heap: %(what)s", what=method.targets),
            _saying(method),
            say("Second heap: %(what)s", what=method.others),
            _saying(method),
        ),
        reading=say(
            "The table holds for %(targets)s cards in the first heap and %(others)s in the second. "
            "Look up how many of the second heap say “%(answer)s”: as many of the first heap as "
            "the number beside it, or more, are more than people give who cannot tell, at the "
            "%(risk)s risk that was locked. A dash: no number is. With other heaps the table does "
            "not hold: write the four numbers down and have them reckoned.",
            targets=targets,
            others=others,
            answer=method.called,
            risk=share_of(comparison.plan.alpha),
        ),
        rows=rows[:MOST_ROWS],
        first=say("second"),
        second=say("first"),
    )


def _saying(method: Detection) -> Message:
    return say("Of these, saying “%(answer)s”", answer=method.called)


def _pairs(comparison: Comparison, method: Detection) -> HandTally:
    """Two answers a card: only cards that answer differently of the two count."""
    return HandTally(
        steps=before_and_after(
            comparison,
            say(
                "For every other card find its number in the key. At the end of the line stands "
                "the code that is “%(answer)s”. Lay aside the cards that say the same of both "
                "cups; of the others count those that say “%(answer)s” of that code.",
                answer=method.called,
            ),
        ),
        written=(
            say("Cards with two different answers (n)"),
            say("Of these, “%(answer)s” of the right cup", answer=method.called),
            say("Needed, from the table"),
        ),
        reading=say(
            "Look up n. As many right ones as the second number or more: more than people give who "
            "cannot tell, at the %(risk)s risk that was locked. Fewer: no difference was shown, "
            "which does not mean that there is none. A dash: no count can convince, so write down "
            "the count and no verdict.",
            risk=share_of(comparison.plan.alpha),
        ),
        rows=hand_tally_rows(Fraction(1, 2), comparison.plan.alpha),
        first=say("n"),
        second=say("needed"),
    )
