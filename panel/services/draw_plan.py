"""A plan as a picture: what each number of tasters could find."""

from panel.core.comparison import Comparison
from panel.core.message import Speak
from panel.core.methods import ForcedChoice, method_named
from panel.core.names import Aim
from panel.core.planning import Outlook, planned_pc, sides_of
from panel.core.statistics import power_curve
from panel.publishing.figures import Figure, Marked, power_chart

FEWEST = 3
MOST = 150
"""Numbers of tasters that are drawn at most; beyond them the saw-tooth is a smear."""
AHEAD = 2
"""The curve reaches twice as far as the largest number of interest: its words stand beside it."""


def power_figure(known: Comparison, outlook: Outlook, speak: Speak) -> Figure | None:
    """Power against tasters, with the needed and the expected number marked.

    None where the aim is similarity, whose power is another question, where no one count decides,
    or where all that matters lies beyond what can be drawn.
    """
    plan, method = known.plan, method_named(known.plan.method)
    if plan.aim is Aim.SIMILARITY or not isinstance(method, ForcedChoice):
        return None
    needed = outlook.needed.holding_tasters if outlook.needed else None
    coming = outlook.expected.tasters if outlook.expected else None
    ends = [number for number in (needed, coming) if number and number <= MOST]
    if not ends:
        return None
    last = min(MOST, max(24, AHEAD * max(ends)))
    curve = power_curve(
        FEWEST,
        last,
        method.chance,
        plan.alpha,
        planned_pc(plan, method),
        sides_of(plan, method),
    )
    marked = Marked(holding=needed, planned=plan.tasters or None, expected=plan.expected)
    return power_chart(curve, outlook.target, marked, speak)
