"""What the hand tally says and looks up where cups were put in order."""

from panel.core.comparison import Comparison
from panel.core.message import say
from panel.core.methods.ranking import cups_of, orders
from panel.core.statistics.hand_ranks import hand_rank_rows
from panel.printing.sheet import share_of
from panel.printing.tally_words import HandTally, before_and_after


def ranks_tally(comparison: Comparison) -> HandTally:
    """Places are added up letter by letter, and the sums held against one another."""
    plan = comparison.plan
    whole = len(orders(plan)) if cups_of(plan) < plan.drinks else 1
    letters = [beer.letter for beer in comparison.beers]
    return HandTally(
        steps=before_and_after(
            comparison,
            say(
                "For every other card find its number in the key, and note for each letter the "
                "place that its cup was given: 1 for the first. Add the places up letter by letter."
            ),
        ),
        written=(
            say("Cards counted (n)"),
            *(say("Sum of the places of %(letter)s", letter=letter) for letter in letters),
        ),
        reading=say(
            "Look up n. Two letters whose sums differ by the second number or more lie apart, with "
            "all pairs held side by side, at the %(risk)s risk that was locked; the smaller sum "
            "comes first. Of others nothing is said. Whether they are placed alike at all, the "
            "locked test of all says, which has to be reckoned.",
            risk=share_of(plan.alpha),
        )
        if whole == 1
        else say(
            "Look up n: the table holds for whole sets of trays alone. Two letters whose sums "
            "differ by the second number or more lie apart, with all pairs held side by side, at "
            "the %(risk)s risk that was locked; the smaller sum comes first. With another n, or "
            "where letters were tasted unequally often, write the sums down and have them "
            "reckoned.",
            risk=share_of(plan.alpha),
        ),
        rows=hand_rank_rows(plan.drinks, cups_of(plan), plan.alpha, whole),
        first=say("n"),
        second=say("apart"),
    )
