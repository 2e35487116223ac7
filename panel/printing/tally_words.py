"""What the hand tally says and looks up where right answers are counted."""

from dataclasses import dataclass
from fractions import Fraction

from panel.core.comparison import Comparison
from panel.core.message import Message, say
from panel.core.methods import ForcedChoice, forced_choice
from panel.core.names import Aim
from panel.core.plan import Plan
from panel.core.planning import planned_pc, sides_of
from panel.core.statistics.hand_tally import hand_similarity_rows, hand_tally_rows
from panel.core.statistics.results import HandTallyRow, SimilarityLimit
from panel.printing.sheet import share_of


@dataclass(frozen=True, kw_only=True)
class HandTally:
    """A tally by hand: what is done, what is written down, how the table is read, the table with
    the heads of its two columns."""

    steps: tuple[Message, ...]
    written: tuple[Message, ...]
    reading: Message
    rows: tuple[HandTallyRow, ...]
    first: Message
    second: Message


def counts_tally(comparison: Comparison, method: ForcedChoice) -> HandTally:
    """Ticks are counted, and held against the number that decides."""
    plan = comparison.plan
    return HandTally(
        steps=_steps(comparison),
        written=(
            say("Cards counted (n)"),
            say("Of these ticked (%(right)s)", right=method.right),
            _needed(plan),
        ),
        reading=_reading(plan),
        rows=rows_of(plan),
        first=say("n"),
        second=say("at most") if plan.aim is Aim.SIMILARITY else say("needed"),
    )


def before_and_after(comparison: Comparison, counting: Message) -> tuple[Message, ...]:
    """The steps of every tally by hand, with what is done to each card among them."""
    said = [
        say(
            "Open this only after the last card of the last sitting is in. Nobody adds or changes "
            "a card from now on."
        ),
        say(
            "Lay aside, and count apart: trays that were set aside, cards without an answer, and "
            "blinded tasters who marked that they knew or helped."
        ),
        counting,
        say("Count blinded and informed tasters apart, always. Never add the two."),
    ]
    if comparison.plan.join_sittings and len(comparison.sittings) > 1:
        said.append(
            say("By the plan the sittings of one kind make one total: add their cards first.")
        )
    return tuple(said)


def rows_of(plan: Plan) -> tuple[HandTallyRow, ...]:
    """The deciding count for each number of ballots: at least, or for similarity at most."""
    method = forced_choice(plan.method)
    if plan.aim is Aim.SIMILARITY:
        limit = SimilarityLimit(planned_pc(plan, method), Fraction(plan.beta))
        return hand_similarity_rows(limit)
    return hand_tally_rows(method.chance, plan.alpha, sides_of(plan, method))


def _steps(comparison: Comparison) -> tuple[Message, ...]:
    plan = comparison.plan
    said = before_and_after(
        comparison,
        say(
            "For every other card find its number in the key. Tick the box if the code marked on "
            "the card stands at the end of the line."
        ),
    )
    if sides_of(plan, forced_choice(plan.method)) == 1:
        return said
    return (
        *said,
        say(
            "The plan asks in both directions: take the ticked cards or those not ticked, "
            "whichever are more."
        ),
    )


def _needed(plan: Plan) -> Message:
    if plan.aim is Aim.SIMILARITY:
        return say("At most, from the table")
    return say("Needed, from the table")


def _reading(plan: Plan) -> Message:
    if plan.aim is Aim.SIMILARITY:
        return say(
            "Look up n. As many ticks as the second number or fewer: so few that a difference as "
            "large as planned for can be ruled out, at the %(risk)s risk that was locked. More: "
            "nothing is shown either way. A dash: no count shows it.",
            risk=share_of(plan.beta),
        )
    return say(
        "Look up n. As many ticks as the second number or more: more than guessing would give, at "
        "the %(risk)s risk that was locked. Fewer: no difference was shown, which does not mean "
        "that there is none. A dash: no count can convince, so write down the count and no "
        "verdict.",
        risk=share_of(plan.alpha),
    )
