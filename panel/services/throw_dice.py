"""What members add to the secret before sealing, and the lock that they are shown first.

The organiser's part follows from the instance key and the comparison's id: it stands fast before
anybody throws, nothing has to be kept, and nobody without the instance key can work it out.
"""

from panel.core.allocation.dice import Dice, dice_text, lock_of
from panel.core.allocation.draw_facts import all_facts
from panel.core.comparison import Comparison
from panel.services.workplace import Workplace
from panel.store.instance_key import derive


def lock_for(at: Workplace, draft: Comparison) -> str:
    """The lock of a draft (core.allocation.dice), as it would be sealed now: 64 hex digits."""
    return lock_of(_own_part(at, draft.id), all_facts(draft))


def thrown(at: Workplace, comparison_id: str, typed: str) -> Dice | None:
    """Both parts of the secret; None where nobody threw. PanelError "dice-too-long"."""
    text = dice_text(typed)
    return Dice(_own_part(at, comparison_id), text) if text else None


def _own_part(at: Workplace, comparison_id: str) -> bytes:
    return derive(at.instance_key, f"dice {comparison_id}")
