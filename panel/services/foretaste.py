"""Simulated tasters of a plan: nothing is kept of them."""

from dataclasses import dataclass
from random import Random

from panel.core.foretaste import Evening, Foretaste, foretaste
from panel.core.message import Speak
from panel.publishing.figures import Figure, foretaste_chart
from panel.services.plan_comparison import comparison
from panel.services.workplace import Actor, Workplace


@dataclass(frozen=True)
class World:
    """One simulated world and its picture."""

    evening: Evening
    figure: Figure


@dataclass(frozen=True)
class Tasted:
    """All worlds of a plan."""

    foretaste: Foretaste
    worlds: tuple[World, ...]


def taste(
    at: Workplace, actor: Actor, comparison_id: str, evening: int, speak: Speak
) -> Tasted | None:
    """Simulated evenings of a comparison's plan; another number, other evenings. None while no
    tasters are planned."""
    known = comparison(at, actor, comparison_id)
    tasted = foretaste(known.plan, Random(f"{known.id} {evening}").random)
    if tasted is None:
        return None
    return Tasted(
        tasted,
        tuple(World(one, foretaste_chart(one, tasted.rule, speak)) for one in tasted.evenings),
    )
