"""What the pourer's screen shows: a wave's cups with the jug that fills each, under the names that
the level allows."""

from dataclasses import dataclass

from panel.core.blinded_view import pourers_view
from panel.core.comparison import Comparison, Sitting
from panel.core.deeds import Deed
from panel.core.errors import Fault, PanelError
from panel.core.message import say
from panel.core.names import Role
from panel.core.visibility import Sight, require_sight
from panel.printing.pour_mat import jugs_of
from panel.printing.sheet import pouring_name
from panel.services.plan_comparison import existing, sitting_of
from panel.services.record import record
from panel.services.sealed_key import unwrap
from panel.services.workplace import Actor, Workplace
from panel.store import trays as trays_store


@dataclass(frozen=True)
class PouredCup:
    """A cup in its place: its code and the number of the jug that fills it."""

    code: str
    jug: int


@dataclass(frozen=True)
class PouredTray:
    """A tray of the wave, by its card number."""

    number: int
    spare: bool
    cups: tuple[PouredCup, ...]


@dataclass(frozen=True)
class PouredWave:
    """One wave: the jugs in the order in which they are poured, and the trays."""

    number: int
    jugs: tuple[str, ...]
    trays: tuple[PouredTray, ...]


@dataclass(frozen=True)
class Pouring:
    """Everything that is poured at a sitting."""

    comparison: Comparison
    sitting: Sitting
    waves: tuple[PouredWave, ...]


def pouring(at: Workplace, actor: Actor, comparison_id: str, sitting_id: str) -> Pouring:
    """The waves of a sitting for its pourer. Looking is recorded: it shows which cup is which."""
    passes = (actor.comparison, actor.sitting) == (comparison_id, sitting_id)
    if actor.role is not Role.ORGANISER and not (actor.role is Role.POURER and passes):
        raise PanelError(
            "pourers-only", say("Only this sitting's pourer can see this."), Fault.FORBIDDEN
        )
    with at.units.begin() as session:
        known = existing(session, comparison_id)
        require_sight(
            actor.role,
            Sight.POURING,
            known.standing,
            known.blinding,
            organiser_tastes=known.duties.organiser_tastes,
        )
        sitting_of(known, sitting_id)
        trays = trays_store.of_sitting(session, comparison_id, sitting_id)
        key = unwrap(session, at, comparison_id).key
        record(session, at, actor, comparison_id, Deed.KEY_SHOWN, sitting_id)
    waves: list[PouredWave] = []
    for number in sorted({tray.wave for tray in trays}):
        jugs = jugs_of(known, number)
        poured = tuple(
            PouredTray(
                tray.number,
                tray.spare,
                tuple(
                    PouredCup(cup.code, jugs[key[tray.number][cup.position - 1]])
                    for cup in tray.cups
                ),
            )
            for tray in trays
            if tray.wave == number
        )
        in_order = sorted(jugs, key=lambda letter: jugs[letter])
        waves.append(
            PouredWave(number, tuple(pouring_name(known, letter) for letter in in_order), poured)
        )
    seen = known if actor.role is Role.ORGANISER else pourers_view(known)
    return Pouring(seen, sitting_of(seen, sitting_id), tuple(waves))
