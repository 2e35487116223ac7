"""What every method says, whatever kind it is of.

A kind of method is a class here beside the others (`ForcedChoice`, `Detection`): it adds what its
analysis needs. Which analysis, which words and which figure belong to a kind is asked by `match` on
the class, never by a method's name.
"""

from collections.abc import Callable
from dataclasses import dataclass

from panel.core.message import Message
from panel.core.names import Aim
from panel.core.plan import Plan
from panel.core.questions import Question


@dataclass(frozen=True, kw_only=True)
class MethodBase:
    """A test, as data.

    `orders(plan)` is the complete set of serving orders, each a string of beer letters by
    position. `follows(plan)` are questions of its own after the deciding one. `references` are
    positions shown as known, not asked about. `right`: what a taster did whose answer is right, as
    a verb. `smelled` is the instruction where cups are only smelled, if `instruction` speaks of
    tasting. A plan may have from `beers` to `most_beers` beers.
    """

    id: str
    name: Message
    in_a_sentence: Message
    instruction: Message
    when_to_use: Message
    beers: int
    cups: int
    aims: tuple[Aim, ...]
    sides: tuple[int, ...] = (1,)
    directional: bool = False
    references: tuple[int, ...] = ()
    right: Message
    smelled: Message | None = None
    orders: Callable[[Plan], tuple[str, ...]]
    follows: Callable[[Plan], tuple[Question, ...]] = lambda _plan: ()
    most_beers: int = 2

    def names_attribute(self, plan: Plan) -> bool:
        """Whether the ballot of the plan tells tasters what to look for: always where the method
        asks for more of something, of several drinks unless it asks which are liked."""
        return self.directional or (self.most_beers > 2 and plan.aim is not Aim.PREFERENCE)

    def cups_of(self, plan: Plan) -> int:
        """How many cups stand on a tray of the plan; `cups` where the plan cannot be served yet."""
        orders = self.orders(plan)
        return len(orders[0]) if orders else self.cups
