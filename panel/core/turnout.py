"""How many tasters a comparison plans for: derived from its sittings, never typed twice."""

from dataclasses import replace

from panel.core.comparison import Comparison
from panel.core.names import Information, SittingKind


def planned_tasters(comparison: Comparison) -> int:
    """Trays planned for the information that decides: blinded, or informed where none is blinded.

    Repeat trials are one taster's and never count as tasters.
    """
    by_information = {
        information: sum(
            sitting.planned
            for sitting in comparison.sittings
            if sitting.information is information and sitting.kind is not SittingKind.REPEAT
        )
        for information in Information
    }
    return by_information[Information.BLINDED] or by_information[Information.INFORMED]


def with_planned_tasters(comparison: Comparison) -> Comparison:
    """The comparison with its plan's `tasters` as its sittings have it."""
    plan = replace(comparison.plan, tasters=planned_tasters(comparison))
    return replace(comparison, plan=plan)
