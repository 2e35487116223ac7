"""How many tasters a comparison plans for: derived from its sittings, never typed twice."""

from dataclasses import replace

from panel.core.comparison import Comparison, Sitting
from panel.core.names import Information, SittingKind


def planned_tasters(comparison: Comparison) -> int:
    """How many ballots the smallest verdict of a comparison is planned to rest on.

    Where sittings join: all trays of the sittings that decide, of a split one the half that is
    blinded. Where each has a verdict of its own: the trays of the smallest. Repeat trials are one
    taster's and never count as tasters; where there is nothing else, it is the trays of the
    largest of them.
    """
    if only_repeats(comparison):
        return max(sitting.planned for sitting in comparison.sittings)
    trays = [deciding_trays(sitting) for sitting in deciding_sittings(comparison)]
    return sum(trays) if comparison.plan.join_sittings else min(trays, default=0)


def deciding_sittings(comparison: Comparison) -> tuple[Sitting, ...]:
    """The sittings whose tasters the plan counts: those with blinded ones, or the informed where
    nobody is blinded; never repeat trials."""
    tables = [s for s in comparison.sittings if s.kind is not SittingKind.REPEAT]
    blinded = tuple(s for s in tables if s.information is not Information.INFORMED)
    return blinded or tuple(tables)


def deciding_trays(sitting: Sitting) -> int:
    """How many of a deciding sitting's trays the plan counts; of an odd number that is split, the
    lots may leave one more."""
    split = sitting.information is Information.SPLIT
    return sitting.planned // 2 if split else sitting.planned


def counts_blinded(comparison: Comparison) -> bool:
    """Whether it is blinded tasters that the plan counts."""
    deciding = deciding_sittings(comparison)
    return any(sitting.information is not Information.INFORMED for sitting in deciding)


def only_repeats(comparison: Comparison) -> bool:
    """Whether one taster's repeat trials are all there is, as in a kitchen-table test."""
    kinds = {sitting.kind for sitting in comparison.sittings}
    return kinds == {SittingKind.REPEAT}


def with_planned_tasters(comparison: Comparison) -> Comparison:
    """The comparison with its plan's `tasters` as its sittings have it."""
    plan = replace(comparison.plan, tasters=planned_tasters(comparison))
    return replace(comparison, plan=plan)
