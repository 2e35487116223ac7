"""All that a sitting's draw depends on besides the secret, as docs/draw.py reads it."""

from collections.abc import Iterator
from typing import Any

from panel.core.comparison import Comparison, Sitting
from panel.core.methods import method_named
from panel.core.names import Blinding, SittingKind

SPARE_FACTOR = 2


def draw_facts(comparison: Comparison, sitting: Sitting, first_number: int) -> dict[str, Any]:
    """The facts of one sitting in JSON words; its first card has `first_number`.

    "split" stands there only where lots decide who of the sitting is informed.
    """
    plan = comparison.plan
    split = {"split": True} if sitting.information == "split" else {}
    return {
        "sitting": sitting.id,
        "first_number": first_number,
        "orders": list(method_named(plan.method).orders(plan)),
        "planned": sitting.planned,
        "wave_size": plan.wave_size,
        "one_shuffle": comparison.blinding is Blinding.SINGLE,
        "independent": sitting.kind is not SittingKind.TABLE,
        "excluded_codes": list(plan.excluded_codes),
        "spare_factor": SPARE_FACTOR,
        **split,
    }


def all_facts(comparison: Comparison) -> Iterator[dict[str, Any]]:
    """The facts of every sitting in turn, card numbers running on."""
    first = 1
    for sitting in comparison.sittings:
        yield draw_facts(comparison, sitting, first)
        first += SPARE_FACTOR * sitting.planned
