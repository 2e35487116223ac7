"""Who may see what, when: the one table that every guard and every page asks.

A row says from which standing on a role may see a sight, and at which blinding levels earlier. The
guards of the web check the audience of a whole blueprint against `AUDIENCES`; a service that
hands out a sight asks `may_see`. What is not in the table is not seen.
"""

from dataclasses import dataclass
from enum import StrEnum

from panel.core.errors import Fault, PanelError
from panel.core.message import say
from panel.core.names import Blinding, Role, Standing


class Sight(StrEnum):
    """A kind of thing to be seen."""

    NEUTRAL = "neutral"  # the blinded title, drink, place, instructions
    SEAL = "seal"  # digest and rosette
    OWN_CODES = "own-codes"  # the codes of one's own tray
    ALL_CODES = "all-codes"  # the codes of every tray of a sitting
    BOARD = "board"  # how many trays are out and ballots in, never an answer
    PLAN = "plan"  # title, variable, names and values of the beers, plan
    POURING = "pouring"  # which jug goes into which cup, under the names that the level allows
    KEY = "key"  # which code holds which beer
    ONE_TRAY = "one-tray"  # the same of a single tray, in an emergency
    BALLOTS = "ballots"  # what single tasters answered
    OWN_RESULT = "own-result"  # one's own answer against the key
    FINDINGS = "findings"  # counts and everything computed from them


_STANDINGS = tuple(Standing)
_SINGLE = frozenset({Blinding.SINGLE})


@dataclass(frozen=True)
class Row:
    """From `since` on for everybody's level; from `early` on already at the levels `at`."""

    since: Standing | None
    early: Standing | None = None
    at: frozenset[Blinding] = frozenset()


TABLE: dict[Role, dict[Sight, Row]] = {
    Role.ORGANISER: {
        Sight.NEUTRAL: Row(Standing.DRAFTED),
        Sight.SEAL: Row(Standing.SEALED),
        Sight.ALL_CODES: Row(Standing.SEALED),
        Sight.BOARD: Row(Standing.SEALED),
        Sight.PLAN: Row(Standing.DRAFTED),
        Sight.POURING: Row(Standing.SEALED),
        Sight.KEY: Row(Standing.CLOSED),
        Sight.ONE_TRAY: Row(Standing.SEALED),
        Sight.BALLOTS: Row(Standing.CLOSED),
        Sight.FINDINGS: Row(Standing.CLOSED),
    },
    Role.KEY_HOLDER: {
        Sight.NEUTRAL: Row(Standing.SEALED),
        Sight.SEAL: Row(Standing.SEALED),
        Sight.PLAN: Row(Standing.SEALED),
        Sight.KEY: Row(Standing.SEALED),
        Sight.ONE_TRAY: Row(Standing.SEALED),
        Sight.FINDINGS: Row(Standing.CLOSED),
    },
    Role.POURER: {
        Sight.NEUTRAL: Row(Standing.SEALED),
        Sight.SEAL: Row(Standing.SEALED),
        Sight.ALL_CODES: Row(Standing.SEALED),
        Sight.POURING: Row(Standing.SEALED),
        Sight.FINDINGS: Row(Standing.PUBLISHED),
    },
    Role.STEWARD: {
        Sight.NEUTRAL: Row(Standing.SEALED),
        Sight.SEAL: Row(Standing.SEALED),
        Sight.ALL_CODES: Row(Standing.SEALED),
        Sight.BOARD: Row(Standing.SEALED),
        Sight.POURING: Row(None, early=Standing.SEALED, at=_SINGLE),
        Sight.FINDINGS: Row(Standing.PUBLISHED),
    },
    Role.TASTER: {
        Sight.NEUTRAL: Row(Standing.SEALED),
        Sight.SEAL: Row(Standing.SEALED),
        Sight.OWN_CODES: Row(Standing.SEALED),
        Sight.OWN_RESULT: Row(Standing.PUBLISHED),
        Sight.FINDINGS: Row(Standing.PUBLISHED),
    },
    Role.MEMBER: {
        Sight.SEAL: Row(Standing.SEALED),
        Sight.NEUTRAL: Row(Standing.SEALED),
        Sight.PLAN: Row(Standing.PUBLISHED),
        Sight.KEY: Row(Standing.PUBLISHED),
        Sight.FINDINGS: Row(Standing.PUBLISHED),
    },
}

AUDIENCES: dict[str, frozenset[Role]] = {
    "organiser": frozenset({Role.ORGANISER}),
    "steward": frozenset({Role.STEWARD, Role.ORGANISER}),
    "pourer": frozenset({Role.POURER, Role.ORGANISER}),
    "keeper": frozenset({Role.KEY_HOLDER}),
    "taster": frozenset({Role.TASTER}),
    "public": frozenset(Role),
    "door": frozenset(Role),  # first set-up, sign-in, a helper's link: opens to those who prove it
}
"""Blueprint name to the roles it lets in."""

TASTING = frozenset({Sight.POURING})
"""What an organiser who also tastes sees no earlier than the key itself. One tray in an emergency
stays: safety goes before blinding."""


def may_see(
    role: Role,
    sight: Sight,
    standing: Standing,
    blinding: Blinding,
    *,
    organiser_tastes: bool = False,
) -> bool:
    """Whether the table lets this role see this now. organiser_tastes: as in core.duties."""
    row = TABLE[role].get(sight)
    if row is None:
        return False
    if role is Role.ORGANISER and organiser_tastes and sight in TASTING:
        return _reached(standing, Standing.CLOSED)
    if row.since is not None and _reached(standing, row.since):
        return True
    return row.early is not None and blinding in row.at and _reached(standing, row.early)


def require_sight(
    role: Role,
    sight: Sight,
    standing: Standing,
    blinding: Blinding,
    *,
    organiser_tastes: bool = False,
) -> None:
    """PanelError (fault FORBIDDEN) unless the table allows it."""
    if not may_see(role, sight, standing, blinding, organiser_tastes=organiser_tastes):
        if may_see(role, sight, standing, blinding):
            raise PanelError(
                "organiser-tastes",
                say(
                    "You taste too, so nothing that shows which cup is which is shown to you "
                    "before closing. The key holder prints it, or the pourer from their own link."
                ),
                Fault.FORBIDDEN,
            )
        raise PanelError(
            "not-yet-seen",
            say("This stays closed to you at this point, so that the test stays blind."),
            Fault.FORBIDDEN,
        )


def _reached(standing: Standing, since: Standing) -> bool:
    return _STANDINGS.index(standing) >= _STANDINGS.index(since)
