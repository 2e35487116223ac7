"""The door itself: a ballot of whichever channel is checked, compared with what is in, and kept.

Everything here happens while one writer has the database, so it asks as little of it as it can.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.orm import Session

from panel.core.allocation.check_letter import card_number
from panel.core.ballot import Ballot, check_answers
from panel.core.comparison import Tray
from panel.core.deeds import Deed
from panel.core.errors import Fault, PanelError
from panel.core.lifecycle import require_serving
from panel.core.message import say
from panel.core.methods import method_named
from panel.core.names import CardStanding, Channel, Role, SittingKind, SittingStanding, Standing
from panel.core.nose_first import NOSE, deciding
from panel.core.plan import Plan
from panel.core.questions import Answer, Question
from panel.core.reconcile import Copy, compare, last_of_each
from panel.core.side_questions import ballot_questions, without_words
from panel.services.record import record
from panel.services.workplace import Actor, Workplace
from panel.store import ballots as ballots_store
from panel.store import records
from panel.store import trays as trays_store
from panel.store.served_trays import ServedTray

OPENED_EARLY = (SittingKind.PARCEL, SittingKind.REPEAT)
"""Where a taster may open the answer of their own tray before the end."""


@dataclass(frozen=True, kw_only=True)
class Receipt:
    """What a ballot's sender gets: a code to show, when it was saved, and how it will be used."""

    code: str
    card: str
    revision: int
    saved: datetime
    copy: Copy
    late: bool


def take(
    session: Session,
    at: Workplace,
    actor: Actor,
    served: ServedTray,
    channel: Channel,
    answers: Mapping[str, Answer],
    key: str,
) -> Receipt:
    tray = served.tray
    given = checked(served, answers, channel)
    kept = ballots_store.kept(session, served.comparison, tray.number)
    before = next((one.ballot for one in kept if key and one.key == key), None)
    if before is not None:
        return _repeated(before, given, tray)
    late = _is_late(served)
    _not_revealed(session, served)
    if channel is Channel.PHONE:
        _first_choice_stands([one.ballot for one in kept], given)
    ballot = Ballot(tray=tray.number, channel=channel, answers=given, received=at.now(), late=late)
    earlier = tuple(one.ballot for one in kept if one.ballot.late is late)
    copy = compare(earlier, ballot, without_words(questions_of(served.plan)))
    if copy is Copy.SAME:
        ballot = last_of_each(earlier)[channel]
    else:
        last = kept[-1].ballot.revision if kept else 0
        ballot = ballots_store.add(session, served.comparison, ballot, key or None, last)
    if not late:
        _put_standing_right(session, served, copy)
    if copy is not Copy.SAME:
        record(
            session, at, actor, served.comparison, Deed.BALLOT_LATE if late else Deed.BALLOT_TAKEN,
            str(tray.number), revision=ballot.revision, channel=str(channel),
        )  # fmt: skip
    return receipt(tray, ballot, copy)


def _put_standing_right(session: Session, served: ServedTray, copy: Copy) -> None:
    """A tray with a ballot is returned, or in question; the same copy again settles nothing."""
    tray = served.tray
    standing = CardStanding.IN_QUESTION if copy is Copy.QUESTION else CardStanding.RETURNED
    if copy is Copy.SAME and tray.standing is CardStanding.IN_QUESTION:
        return
    trays_store.set_standing(session, served.comparison, tray.number, standing)


def checked(
    served: ServedTray, answers: Mapping[str, Answer], channel: Channel
) -> dict[str, Answer]:
    plan = served.plan
    decides = deciding(method_named(plan.method), plan).id
    return check_answers(questions_of(plan), served.tray.codes(), answers, decides, channel)


def questions_of(plan: Plan) -> tuple[Question, ...]:
    return ballot_questions(method_named(plan.method), plan)


def _is_late(served: ServedTray) -> bool:
    """Whether the ballot came after its sitting; PanelError where it cannot be taken at all."""
    if served.standing is Standing.PUBLISHED:
        raise PanelError(
            "published",
            say("The result is published: this comparison takes no more ballots."),
            Fault.STANDING,
        )
    if served.sitting.standing is SittingStanding.CLOSED:
        return True
    require_serving(served.sitting.standing)
    if served.tray.standing is CardStanding.SET_ASIDE:
        raise PanelError(
            "tray-set-aside",
            say("This tray was set aside. Ask the steward for another one."),
            Fault.STANDING,
        )
    return False


def _not_revealed(session: Session, served: ServedTray) -> None:
    """PanelError where the taster has seen this tray's answer already: their ballot is final."""
    if served.sitting.kind not in OPENED_EARLY:
        return
    number = str(served.tray.number)
    if records.tells(session, served.comparison, Deed.TRAY_REVEALED, number, Role.TASTER):
        raise PanelError(
            "ballot-final",
            say("The answer of this tray has been opened: its ballot is final."),
            Fault.STANDING,
        )


def _first_choice_stands(kept: Iterable[Ballot], given: Mapping[str, Answer]) -> None:
    """PanelError where a phone sends another choice by smell than it did before: what was chosen
    nose first cannot be chosen anew after tasting. Paper may correct a slip of the pen."""
    said = [
        one.answers[NOSE] for one in kept if one.channel is Channel.PHONE and NOSE in one.answers
    ]
    if said and given.get(NOSE, ()) != said[0]:
        raise PanelError(
            "first-choice-stands",
            say(
                "By smell you chose %(codes)s, and that stands. Go on, and change what you chose "
                "after tasting.",
                codes=", ".join(said[0]),
            ),
            field=NOSE,
        )


def _repeated(before: Ballot, given: Mapping[str, Answer], tray: Tray) -> Receipt:
    if dict(before.answers) != dict(given):
        raise PanelError(
            "form-sent-before",
            say(
                "This form was sent once already with other answers. Open the card's link again "
                "and change your ballot there."
            ),
            Fault.CLASH,
        )
    return receipt(tray, before, Copy.SAME)


def receipt(tray: Tray, ballot: Ballot, copy: Copy) -> Receipt:
    return Receipt(
        code=f"{card_number(tray.number)}·{ballot.revision}",
        card=card_number(tray.number),
        revision=ballot.revision,
        saved=ballot.received,
        copy=copy,
        late=ballot.late,
    )
