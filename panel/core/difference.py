"""What knowing does: the informed held against the blinded, never added to them.

Where lots decided who was told, only that can have made the groups differ, but for chance; where
nobody drew lots, much else can. So tasters of the two kinds are never put together: a comparison
with both has a difference of each.

That one group passes its test and the other does not is no difference between them (Gelman & Stern
2006, The American Statistician 60:328–331); the difference itself is estimated and tested.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from panel.core import statistics
from panel.core.comparison import Comparison, Sitting
from panel.core.findings import CONFIDENCE, Finding, Verdict
from panel.core.methods import forced_choice
from panel.core.names import Information, Outcome, SittingKind
from panel.core.outcomes import Group, Judged, Outcomes
from panel.core.plan import Plan
from panel.core.planning import planned_pc
from panel.core.statistics.results import Equivalence, TwoByTwo


class Basis(StrEnum):
    """How it came about who was told."""

    SPLIT = "split"  # lots drawn from the secret, tray by tray, within a sitting
    SITTINGS_DRAWN = "sittings-drawn"  # lots brought people to one sitting or to another
    NOT_DRAWN = "not-drawn"


OPPOSITE = (
    {Verdict.SHOWN, Verdict.NOT_SHOWN},
    {Verdict.SIMILAR, Verdict.NOT_SIMILAR},
)


@dataclass(frozen=True, kw_only=True)
class Difference:
    """Informed share minus blinded share, Newcombe's interval, Boschloo's exact two-sided p-value.

    Counts are of right answers and of tasters who chose, at `sittings` (ids) alone. Where the
    groups were `drawn`, the blinded are compared as they were drawn, with those who were told at
    the table. `whole`: no other taster's ballot stands in the two findings. `verdicts_differ`: the
    two findings have opposite verdicts, which is no difference in itself. `equivalence`: are the
    shares alike within the difference that the plan says matters? None beyond 2,000 tasters.
    """

    basis: Basis
    sittings: tuple[str, ...]
    informed_correct: int
    informed_tasters: int
    blinded_correct: int
    blinded_tasters: int
    compared: TwoByTwo
    equivalence: Equivalence | None
    whole: bool
    verdicts_differ: bool

    @property
    def drawn(self) -> bool:
        """Whether lots decided who was informed."""
        return self.basis is not Basis.NOT_DRAWN

    def strong(self, alpha: float) -> bool:
        """Whether this is strong evidence, at that risk, that knowing changes what people find."""
        return self.compared.p_value <= alpha


def differences_of(
    comparison: Comparison, outcomes: Outcomes, findings: Iterable[Finding]
) -> tuple[Difference, ...]:
    """A difference for each set of sittings that has both groups, with tasters in each: those that
    lots split, those that lots brought people to, all others. Where the plan keeps sittings apart,
    each split sitting has its own, and the others only if just two of them are left to compare.
    """
    known = tuple(findings)
    made = (
        _difference(comparison.plan, outcomes, known, basis, sittings)
        for basis, sittings in sets_compared(comparison)
    )
    return tuple(one for one in made if one is not None)


def sets_compared(comparison: Comparison) -> Iterator[tuple[Basis, tuple[Sitting, ...]]]:
    """The sittings held against each other, with how their groups came about."""
    tables = _tables(comparison)
    split = tuple(one for one in tables if one.information is Information.SPLIT)
    drawn = tuple(one for one in tables if one.groups_drawn and one not in split)
    if not _both(drawn):
        drawn = ()
    others = tuple(one for one in tables if one not in split and one not in drawn)
    join = comparison.plan.join_sittings
    if join and split:
        yield Basis.SPLIT, split
    elif split:
        yield from ((Basis.SPLIT, (one,)) for one in split)
    for basis, sittings in ((Basis.SITTINGS_DRAWN, drawn), (Basis.NOT_DRAWN, others)):
        if _both(sittings) and (join or len(sittings) == 2):
            yield basis, sittings


def _both(sittings: Iterable[Sitting]) -> bool:
    groups = {one.information for one in sittings}
    return groups >= {Information.BLINDED, Information.INFORMED}


def _difference(
    plan: Plan,
    outcomes: Outcomes,
    findings: tuple[Finding, ...],
    basis: Basis,
    sittings: tuple[Sitting, ...],
) -> Difference | None:
    ids = tuple(sitting.id for sitting in sittings)
    as_blinded = {Group.BLINDED} if basis is Basis.NOT_DRAWN else {Group.BLINDED, Group.TOLD}
    informed_correct, informed_tasters = _count(outcomes.judged, ids, {Group.INFORMED})
    blinded_correct, blinded_tasters = _count(outcomes.judged, ids, as_blinded)
    if not informed_tasters or not blinded_tasters:
        return None
    two = [
        one
        for one in findings
        if one.group in (Group.INFORMED, Group.BLINDED) and set(one.sittings) & set(ids)
    ]
    return Difference(
        basis=basis,
        sittings=ids,
        informed_correct=informed_correct,
        informed_tasters=informed_tasters,
        blinded_correct=blinded_correct,
        blinded_tasters=blinded_tasters,
        compared=statistics.compare_groups(
            informed_correct, informed_tasters, blinded_correct, blinded_tasters, CONFIDENCE
        ),
        equivalence=statistics.equivalent(
            informed_correct,
            informed_tasters,
            blinded_correct,
            blinded_tasters,
            _margin(plan),
            plan.alpha,
        ),
        whole=_whole(two, informed_tasters, blinded_tasters, as_blinded),
        verdicts_differ={one.verdict for one in two} in OPPOSITE,
    )


def _margin(plan: Plan) -> Fraction:
    """The share of right answers that the smallest difference that matters adds to guessing."""
    method = forced_choice(plan.method)
    return planned_pc(plan, method) - method.chance


def _count(judged: Iterable[Judged], ids: tuple[str, ...], groups: set[Group]) -> tuple[int, int]:
    """How many were right, and how many chose."""
    chose = [
        one.outcome
        for one in judged
        if one.sitting in ids and one.group in groups and one.outcome is not Outcome.NO_CHOICE
    ]
    return chose.count(Outcome.RIGHT), len(chose)


def _whole(two: list[Finding], informed: int, blinded: int, as_blinded: set[Group]) -> bool:
    """Whether the two findings hold these tasters and no others."""
    counts = {
        one.group: (one.with_told if Group.TOLD in as_blinded and one.with_told else one).tasters
        for one in two
    }
    return len(two) == 2 and counts == {Group.INFORMED: informed, Group.BLINDED: blinded}


def groups_drawn(comparison: Comparison) -> bool:
    """Whether lots decided, in every sitting, who was informed and who was not."""
    groups = _tables(comparison)
    return bool(groups) and all(map(_by_lot, groups))


def some_groups_drawn(comparison: Comparison) -> bool:
    """Whether lots decided it in some sittings and in others not."""
    lots = set(map(_by_lot, _tables(comparison)))
    return lots == {True, False}


def _by_lot(sitting: Sitting) -> bool:
    return sitting.information is Information.SPLIT or sitting.groups_drawn


def _tables(comparison: Comparison) -> list[Sitting]:
    return [sitting for sitting in comparison.sittings if sitting.kind is not SittingKind.REPEAT]
