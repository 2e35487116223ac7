"""The blinding that each sitting really had, as far as the record can tell: never more than was
planned, and less wherever the record says so.

CONSORT 2025, items 20a and 20b, ask who was blinded and how; the plan says who was to be. The
record has what went through the program. Somebody who looked over a shoulder stands nowhere, so
the most that can be said is that nothing in the record speaks against the plan.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from panel.core.comparison import Comparison, Sitting, Tray
from panel.core.names import Blinding, Role, SittingKind
from panel.core.sight_of_key import WHOLE, Seen, Sighted

_LEVELS = tuple(Blinding)
"""From the lowest to the highest."""


@dataclass(frozen=True, kw_only=True)
class Kept:
    """The blinding of one sitting that was held. `level`: by the record, at most `planned`.

    `served` knew which cup was which when they gave trays to tasters: with how many trays. `named`
    saw, before the sitting closed, which name each drink goes by although they were not to (triple
    blinding). `uncovered`: triple was planned, and a drink had no cover name. `tasted`: they were
    among the tasters by the plan, and saw the key or a tray. `unnoted` trays of a table were
    answered or came back, and nobody noted who had handed them out. `poured_from_nothing`: nobody
    printed or looked at what cups are poured by.
    """

    sitting: str
    planned: Blinding
    level: Blinding
    served: tuple[tuple[Sighted, int], ...] = ()
    named: tuple[Sighted, ...] = ()
    uncovered: bool = False
    tasted: tuple[Sighted, ...] = ()
    unnoted: int = 0
    poured_from_nothing: bool = False

    @property
    def lowered(self) -> bool:
        """Whether it was less than planned."""
        return self.level is not self.planned


def blinding_kept(
    comparison: Comparison, sighted: Iterable[Sighted], used: Iterable[Tray]
) -> tuple[Kept, ...]:
    """Every sitting that was held, in order. sighted: as the record has it. used: the trays that
    reached a taster, by what is known of them."""
    people = tuple(sighted)
    unnoted = _unnoted(used)
    return tuple(
        _kept(comparison, sitting, people, unnoted)
        for sitting in comparison.sittings
        if not sitting.not_held
    )


def lowest(kept: Iterable[Kept]) -> Blinding | None:
    """The lowest level of all sittings; None where none was held."""
    levels = {one.level for one in kept}
    return min(levels, key=_LEVELS.index, default=None)


def _kept(
    comparison: Comparison,
    sitting: Sitting,
    people: tuple[Sighted, ...],
    unnoted: Mapping[str, int],
) -> Kept:
    planned = comparison.blinding
    triple = planned is Blinding.TRIPLE
    uncovered = triple and not all(beer.cover_name for beer in comparison.beers)
    served = tuple((one, count) for one in people if (count := _served(one, sitting.id)))
    named = tuple(one for one in people if triple and _knows_names(one, sitting, uncovered))
    tastes = comparison.duties.organiser_tastes
    level = planned
    if named or uncovered:
        level = Blinding.DOUBLE
    if served:
        level = Blinding.SINGLE
    return Kept(
        sitting=sitting.id,
        planned=planned,
        level=min(level, planned, key=_LEVELS.index),
        served=served,
        named=named,
        uncovered=uncovered,
        tasted=tuple(one for one in people if tastes and _tasted(one, sitting)),
        unnoted=unnoted.get(sitting.id, 0) if sitting.kind is SittingKind.TABLE else 0,
        poured_from_nothing=not any(seen.of(sitting.id) for one in people for seen in one.seen),
    )


def _served(person: Sighted, sitting: str) -> int:
    """Trays handed out knowingly; one whose sitting is not known may have been of this one."""
    given = dict(person.handed_out)
    return given.get(sitting, 0) + given.get("", 0)


def _knows_names(person: Sighted, sitting: Sitting, uncovered: bool) -> bool:
    """Under triple blinding only the key holder knows names; mats and pour sheets show cover names.

    One tray opened in an emergency tells, with a mat, which cover name is which drink.
    """
    if person.role is Role.KEY_HOLDER:
        return False
    shown = [seen for seen in person.seen if seen.of(sitting.id) and _in_time(seen, sitting)]
    return bool(shown) and (
        uncovered or person.trays > 0 or any(seen.what in WHOLE for seen in shown)
    )


def _tasted(person: Sighted, sitting: Sitting) -> bool:
    """An organiser who was to taste, and who saw something of the key while they could."""
    shown = any(seen.of(sitting.id) and _in_time(seen, sitting) for seen in person.seen)
    return person.role is Role.ORGANISER and (shown or person.trays > 0)


def _in_time(seen: Seen, sitting: Sitting) -> bool:
    """Whether it was seen before the sitting closed."""
    return sitting.closed is None or seen.first < sitting.closed


def _unnoted(used: Iterable[Tray]) -> dict[str, int]:
    counts: dict[str, int] = {}
    for tray in used:
        if tray.handed_out is None:
            counts[tray.sitting] = counts.get(tray.sitting, 0) + 1
    return counts
