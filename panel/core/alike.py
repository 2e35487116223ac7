"""Are the sittings that make one total alike, and does the serving order matter?

Sittings of one information are added where the plan says so. If nobody can tell, the sum is
binomial however the sittings differ in size, so the test of the total is a test over all sittings
and needs no weights. If some can tell, the total is the mean of the sittings weighted by their
tasters; where they are not alike it is the mean of unlike things, and that is said. Blinded and
informed are never held against each other here: a stratum has one information only.
"""

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from enum import StrEnum

from panel.core import statistics
from panel.core.names import Outcome
from panel.core.outcomes import Group, Judged, Stratum
from panel.core.statistics.results import Evenness


class Parts(StrEnum):
    """By what the ballots of one stratum are parted."""

    SITTINGS = "sittings"
    ORDERS = "orders"


@dataclass(frozen=True, kw_only=True)
class Alike:
    """Right answers (two sides: choices of the beer counted) and choices in each part of a stratum.

    `parts` are sittings' ids, or serving orders in letters. `even`: exact test given all totals.
    """

    stratum: str
    by: Parts
    parts: tuple[str, ...]
    counts: tuple[tuple[int, int], ...]
    even: Evenness


def alike_of(strata: Iterable[Stratum]) -> tuple[Alike, ...]:
    """For blinded and informed: by sittings, then by orders, wherever two parts or more chose."""
    return tuple(
        one
        for stratum in strata
        if stratum.group in (Group.BLINDED, Group.INFORMED)
        for one in _of(stratum)
    )


def _of(stratum: Stratum) -> Iterator[Alike]:
    chose = [one for one in stratum.ballots if one.outcome is not Outcome.NO_CHOICE]
    held = {one.sitting for one in chose}
    sittings = tuple(sitting for sitting in stratum.sittings if sitting in held)
    orders = tuple(sorted({one.order for one in chose}))
    for by, parts, names in (
        (Parts.SITTINGS, sittings, [one.sitting for one in chose]),
        (Parts.ORDERS, orders, [one.order for one in chose]),
    ):
        if len(parts) > 1:
            counts = _counts(chose, names, parts)
            yield Alike(
                stratum=stratum.id,
                by=by,
                parts=parts,
                counts=counts,
                even=statistics.freeman_halton(counts),
            )


def _counts(
    chose: list[Judged], names: list[str], parts: tuple[str, ...]
) -> tuple[tuple[int, int], ...]:
    trays = Counter(names)
    right = Counter(
        name for name, one in zip(names, chose, strict=True) if one.outcome is Outcome.RIGHT
    )
    return tuple((right[part], trays[part]) for part in parts)
