"""Findings: what the numbers of a closed comparison can bear."""

from dataclasses import dataclass
from typing import Any

from sqlalchemy.orm import Session

from panel.core.allocation.dice import Dice
from panel.core.ballot import Ballot
from panel.core.comparison import Comparison, Key, Tray
from panel.core.deeds import Deed
from panel.core.errors import Fault, PanelError
from panel.core.message import say
from panel.core.names import Role, Standing
from panel.core.result import Result, result_of
from panel.core.sight_of_key import sighted_of
from panel.core.visibility import Sight, require_sight
from panel.services.plan_comparison import existing
from panel.services.sealed_key import from_words
from panel.services.workplace import Actor, Workplace
from panel.store import amendments as amendments_store
from panel.store import ballots as ballots_store
from panel.store import records, seals
from panel.store import trays as trays_store


@dataclass(frozen=True, kw_only=True)
class Opened:
    """A closed comparison with its key, trays, ballots and result.

    `document` is the sealed plan (canonical JSON), `secret` the draw's, in hex, `informed` the
    numbers of the trays that the lots of split sittings have informed, `dice` the secret's parts
    where members threw some, `revealed` the trays whose own answer was opened before closing.
    """

    comparison: Comparison
    result: Result
    key: Key
    secret: str
    document: str
    trays: tuple[Tray, ...]
    ballots: tuple[Ballot, ...]
    informed: frozenset[int] = frozenset()
    dice: Dice | None = None
    revealed: frozenset[int] = frozenset()


def findings(at: Workplace, actor: Actor, comparison_id: str) -> Opened:
    """The result of a closed comparison, for whom the table of sights lets see it."""
    with at.units.read() as session:
        return opened_of(session, seen_by(session, actor, comparison_id))


def seen_by(session: Session, actor: Actor, comparison_id: str) -> Comparison:
    """A comparison whose result the table of sights lets this actor see; PanelError otherwise."""
    known = existing(session, comparison_id)
    require_sight(actor.role, Sight.FINDINGS, known.standing, known.blinding)
    return known


def opened_of(session: Session, known: Comparison) -> Opened:
    """The same within a unit of work; PanelError (fault STANDING) before closing."""
    words: dict[str, Any] | None = seals.opened(session, known.id)
    sealed = seals.load(session, known.id)
    if known.standing not in (Standing.CLOSED, Standing.PUBLISHED) or words is None or not sealed:
        raise PanelError(
            "not-closed",
            say("Close the comparison first: until then nobody learns which answers are right."),
            Fault.STANDING,
        )
    secrets = from_words(words)
    trays = trays_store.of_comparison(session, known.id)
    ballots = ballots_store.every_revision(session, known.id)
    amendments = amendments_store.of_comparison(session, known.id)
    revealed = frozenset(
        map(int, records.subjects(session, known.id, Deed.TRAY_REVEALED, Role.TASTER))
    )
    return Opened(
        comparison=known,
        result=result_of(
            known,
            secrets.key,
            trays,
            ballots,
            amendments,
            revealed=revealed,
            informed=secrets.informed,
            sighted=sighted_of(
                records.of_chain(session, known.id),
                {tray.number: tray.sitting for tray in trays},
            ),
        ),
        key=secrets.key,
        secret=secrets.secret.hex(),
        document=sealed.document,
        trays=trays,
        ballots=ballots,
        informed=secrets.informed,
        dice=secrets.dice,
        revealed=revealed,
    )
