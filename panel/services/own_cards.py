"""Whose card is it: each sitting has its own cards, and its stewards take those alone."""

from panel.core.allocation.check_letter import card_number
from panel.core.comparison import Comparison, Tray
from panel.core.errors import PanelError
from panel.core.message import say
from panel.core.names import Role
from panel.services.plan_comparison import sitting_of
from panel.services.workplace import Actor


def require_own_card(actor: Actor, known: Comparison, tray: Tray) -> None:
    """PanelError unless this card is the actor's to take. Another sitting's is named by its sitting
    to stewards of the same comparison: they see it on the paper too."""
    same_evenings = actor.role is Role.STEWARD and actor.comparison == known.id
    if same_evenings and actor.sitting != tray.sitting:
        raise PanelError(
            "card-of-another-sitting",
            say(
                "Card %(card)s belongs to “%(sitting)s”, not to this sitting. Check the number; if "
                "it is right, give the card to the organiser, who can take it there.",
                card=card_number(tray.number),
                sitting=sitting_of(known, tray.sitting).name,
            ),
            field="card",
        )
    actor.require_serving(known.id, tray.sitting)
