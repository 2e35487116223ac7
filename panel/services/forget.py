"""Erasing what names people: nicknames, notes, free words, pictures of cards, which show a hand's
writing, the name of an account.

Counts, answers and every chain of the record stay whole: a record never held a name. What was
erased is overwritten in the database file too; backups that were made before still hold it.
"""

from dataclasses import dataclass
from datetime import timedelta

from sqlalchemy.orm import Session

from panel.core.allocation.check_letter import card_number, parse_card_number
from panel.core.comparison import Comparison
from panel.core.deeds import Deed
from panel.core.errors import Fault, PanelError
from panel.core.message import say
from panel.core.methods import method_named
from panel.core.names import Role
from panel.core.questions import Words
from panel.core.record import INSTANCE
from panel.core.side_questions import ballot_questions
from panel.services.plan_comparison import existing
from panel.services.record import record
from panel.services.workplace import Actor, Workplace
from panel.store import ballots as ballots_store
from panel.store import comparisons as comparisons_store
from panel.store import people, signins
from panel.store import readings as readings_store
from panel.store import trays as trays_store

CLOCK = Actor(Role.ORGANISER, "clock")
"""Who erases when the days of the setting erase_after_days are over."""


@dataclass(frozen=True)
class Erased:
    """From how many trays a nickname or note went, how many answers in free words, and how many
    pictures of cards."""

    trays: int
    words: int
    pictures: int = 0


def forget_tasters(at: Workplace, actor: Actor, comparison_id: str, card: str = "") -> Erased:
    """Erases nicknames, notes, free words and pictures of a comparison, or of one card ("17 K").

    What tasters answered otherwise, and what was counted, stays. PanelError (fault MISSING) if
    there is no such comparison or card.
    """
    actor.require_organiser()
    number = parse_card_number(card) if card else None
    with at.units.begin() as session:
        known = existing(session, comparison_id)
        if number is not None and trays_store.load(session, comparison_id, number) is None:
            raise PanelError(
                "no-such-card",
                say(
                    "No card of this comparison has number %(card)s. Is it another evening's card?",
                    card=card_number(number),
                ),
                Fault.MISSING,
                field="card",
            )
        erased = _erase(session, at, actor, known, number)
    at.units.sweep()
    return erased


def forget_account(at: Workplace, actor: Actor, name: str) -> str:
    """Erases the name and password of an account and ends its sign-ins; its id, which records keep.

    PanelError if nobody has that name, or if nobody else could sign in as an organiser.
    """
    actor.require_organiser()
    with at.units.begin() as session:
        person = people.by_name(session, name)
        if person is None:
            raise PanelError(
                "no-such-account",
                say("Nobody here signs in as “%(name)s”.", name=name),
                Fault.MISSING,
                field="name",
            )
        others = (one for one in people.every(session) if one.id != person.id)
        if person.organiser and not any(one.organiser and not one.disabled for one in others):
            raise PanelError(
                "last-organiser",
                say(
                    "“%(name)s” is the only organiser who can sign in. Let another one set a "
                    "password first, then erase this name.",
                    name=person.name,
                ),
                Fault.STANDING,
            )
        people.erase(session, person.id, at.now())
        signins.revoke_of_person(session, person.id, at.now())
        record(session, at, actor, INSTANCE, Deed.FORGOTTEN, person.id)
    at.units.sweep()
    return person.id


def erase_due(at: Workplace) -> tuple[str, ...]:
    """Erases nicknames, notes, free words and pictures of every comparison that was published as
    many days ago as the setting erase_after_days says; the ids of those where anything was left to
    erase."""
    latest = at.now() - timedelta(days=at.settings.erase_after_days)
    with at.units.begin() as session:
        due = [
            known
            for known in comparisons_store.published(session)
            if known.published is not None and known.published <= latest
        ]
        done = tuple(
            known.id for known in due if _erase(session, at, CLOCK, known, None) != Erased(0, 0)
        )
    if done:
        at.units.sweep()
    return done


def _erase(
    session: Session, at: Workplace, actor: Actor, known: Comparison, number: int | None
) -> Erased:
    """Recorded without the card's number: the record is published, and a wish to be forgotten is
    nobody's business. Nothing is recorded where there was nothing."""
    questions = ballot_questions(method_named(known.plan.method), known.plan)
    free = [question.id for question in questions if isinstance(question, Words)]
    trays = trays_store.erase_tasters(session, known.id, number)
    words = ballots_store.erase_words(session, known.id, free, number)
    pictures = readings_store.erase_pictures(session, known.id, number)
    if trays or words or pictures:
        record(
            session, at, actor, known.id, Deed.FORGOTTEN,
            trays=trays, words=words, pictures=pictures,
        )  # fmt: skip
    return Erased(trays, words, pictures)
