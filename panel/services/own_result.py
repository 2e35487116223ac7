"""A taster's own answer against the key: for everybody after publication, and earlier only in
parcels and repeat trials, where a tray's codes and order say nothing of any other tray's."""

from dataclasses import dataclass

from sqlalchemy.orm import Session

from panel.core.allocation.check_letter import card_number
from panel.core.deeds import Deed
from panel.core.errors import Fault, PanelError
from panel.core.message import Message, say
from panel.core.methods import Method, Ranking, method_named
from panel.core.methods.method import outcome_of, picked_positions
from panel.core.names import Outcome, Role, Standing, Step
from panel.core.nose_first import beside
from panel.core.plan import Plan
from panel.core.questions import Answer, Choice, YesNoPerCup
from panel.core.visibility import Sight, may_see
from panel.services.ballot_door import OPENED_EARLY
from panel.services.record import record
from panel.services.sealed_key import is_locked, unwrap
from panel.services.take_ballot import Serving, serving_of
from panel.services.workplace import Actor, Workplace
from panel.store import ballots as ballots_store
from panel.store import records


@dataclass(frozen=True)
class OwnCup:
    """A cup of one's own tray. `beer` is its letter, `name` its name once that may be known.
    `beside`: it was picked in the choice that does not decide, of a nose-first ballot."""

    code: str
    beer: str
    name: str
    picked: bool
    beside: bool = False
    place: int | None = None  # that it was given, where cups were put in order
    called: Message | None = None  # what it was said to be, where each cup was asked about


@dataclass(frozen=True)
class OwnResult:
    """What a taster chose and what it was. `outcome` is None where no ballot counted; `beside` is
    that of the choice that does not decide, and `decides` the step that does, nose first.
    `called`: what was said of all cups together."""

    card: str
    cups: tuple[OwnCup, ...]
    outcome: Outcome | None
    counted: bool
    beside: Outcome | None = None
    decides: Step | None = None
    called: Message | None = None


def own_result(at: Workplace, ref: str) -> OwnResult | None:
    """The taster's own answer if it may be seen now, else None."""
    with at.units.read() as session:
        serving = serving_of(session, ref)
        known = serving.comparison
        public = may_see(Role.TASTER, Sight.OWN_RESULT, known.standing, known.blinding)
        shut = not _revealed(session, serving) or is_locked(session, known.id)
        if not public and shut:
            return None
        return _own(session, at, serving, named=public)


def may_open_early(at: Workplace, ref: str) -> bool:
    """Whether the taster may open their answer now, before the comparison has closed."""
    with at.units.read() as session:
        serving = serving_of(session, ref)
        return _may_open(session, serving) and not _revealed(session, serving)


def open_own_answer(at: Workplace, ref: str) -> OwnResult:
    """Opens one's own tray for good; its ballot is final from now on, and the finding says that
    answers were opened."""
    with at.units.begin() as session:
        serving = serving_of(session, ref)
        if not _may_open(session, serving):
            raise PanelError(
                "not-yet-seen",
                say(
                    "Your answer opens when the result is published, so that the test stays blind."
                ),
                Fault.FORBIDDEN,
            )
        found = _own(session, at, serving, named=False)
        if not _revealed(session, serving):
            actor = Actor.taster(serving.comparison.id, serving.sitting.id, ref)
            number = str(serving.tray.number)
            record(session, at, actor, serving.comparison.id, Deed.TRAY_REVEALED, number)
    return found


def _may_open(session: Session, serving: Serving) -> bool:
    if serving.sitting.kind not in OPENED_EARLY:
        return False
    if serving.comparison.standing not in (Standing.SERVING, Standing.CLOSED):
        return False
    if is_locked(session, serving.comparison.id):  # then it waits for the key holder's passphrase
        return False
    return ballots_store.latest(session, serving.comparison.id, serving.tray.number) is not None


def _revealed(session: Session, serving: Serving) -> bool:
    number = str(serving.tray.number)
    return records.tells(session, serving.comparison.id, Deed.TRAY_REVEALED, number, Role.TASTER)


def _own(session: Session, at: Workplace, serving: Serving, *, named: bool) -> OwnResult:
    known, tray = serving.comparison, serving.tray
    order = unwrap(session, at, known.id).key[tray.number]
    ballot = ballots_store.latest(session, known.id, tray.number)
    answer = ballot.answers.get(serving.deciding, ()) if ballot else ()
    places = picked_positions(tray.codes(), answer)
    method, plan = method_named(known.plan.method), known.plan
    other = beside(method, plan)
    said = ballot.answers.get(other.id, ()) if ballot and other else ()
    second = picked_positions(tray.codes(), said)
    names = {beer.letter: beer.name if named else "" for beer in known.beers}
    ranked = isinstance(method, Ranking)
    called, of_cups = _called(method, plan, answer)
    cups = tuple(
        OwnCup(
            cup.code,
            beer,
            names[beer],
            cup.position in places,
            cup.position in second,
            answer.index(cup.code) + 1 if ranked and cup.code in answer else None,
            of_cups.get(cup.code),
        )
        for cup, beer in zip(tray.cups, order, strict=True)
    )
    return OwnResult(
        card=card_number(tray.number),
        cups=cups,
        outcome=outcome_of(method, known.plan, order, tray.codes(), answer) if ballot else None,
        counted=ballot is not None and tray.reason is None,
        beside=outcome_of(method, plan, order, tray.codes(), said) if said else None,
        decides=plan.deciding_step if other else None,
        called=called,
    )


def _called(
    method: Method, plan: Plan, answer: Answer
) -> tuple[Message | None, dict[str, Message]]:
    """What was said of the whole tray, and of each cup by its code, where an answer is no choice of
    cups."""
    asked = method.decides(plan)
    match asked:
        case Choice():
            texts = {option.value: option.text for option in asked.options}
            return next((texts[word] for word in answer if word in texts), None), {}
        case YesNoPerCup():
            parted = (word.partition(":") for word in answer)
            return None, {
                code: asked.yes if value == "yes" else asked.no for code, _, value in parted
            }
        case _:
            return None, {}
