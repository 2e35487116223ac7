"""Plays an invented event through the services, as an organiser and her helpers would.

Clock and entropy are the event's own, so that the same event always gives the same findings.
"""

import random
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from panel.core.allocation.check_letter import card_number
from panel.core.comparison import Beer, Comparison, Sitting, Tray
from panel.core.methods import Ranking, method_named
from panel.core.methods.method import Method, outcome_of
from panel.core.names import (
    Channel,
    Helpers,
    Information,
    Knew,
    Outcome,
    Paper,
    Reason,
    Role,
    SittingKind,
)
from panel.core.nose_first import beside, deciding
from panel.core.paper.payload import ref_of, tray_tokens
from panel.core.plan import plan_from_words, serving_from_words
from panel.core.possible_answers import possible_answers
from panel.core.questions import Answer, CupQuestion, OrderCups, PickCups
from panel.core.side_questions import SURE, ballot_questions
from panel.services import (
    close_and_unseal,
    invite,
    open_sitting,
    plan_comparison,
    pour,
    publish,
    seal_comparison,
    settle_ballots,
    sign_in,
    take_ballot,
)
from panel.services.plan_comparison import Draft, SittingDraft
from panel.services.sealed_key import unwrap
from panel.services.seeded import EventClock, seeded_entropy
from panel.services.workplace import Actor, Workplace

Event = dict[str, Any]


@dataclass(frozen=True)
class Taster:
    """One invented taster's answers in the making."""

    place: int
    phone: bool
    tells: bool
    knew: Knew


def play(at: Workplace, actor: Actor, event: Event) -> Comparison:
    """Plans, seals, serves, closes and publishes the event; returns the published comparison."""
    clock = EventClock(_start(event["sittings"][0]) - timedelta(days=7))
    there = replace(at, now=clock, entropy=seeded_entropy(event["seed"]))
    known = _plan(there, actor, event)
    sealed = seal_comparison.seal(there, actor, known.id, event["comparison"].get("waiver", ""))
    chance = random.Random(event["seed"])
    for sitting, facts in zip(sealed.sittings, event["sittings"], strict=True):
        clock.moment = _start(facts)
        _hold(there, actor, sealed, sitting, facts, chance)
    clock.moment += timedelta(days=1)
    settle_ballots.set_aside_rest(there, actor, sealed.id)
    close_and_unseal.close(there, actor, sealed.id)
    return publish.publish(there, actor, sealed.id)


def _plan(at: Workplace, actor: Actor, event: Event) -> Comparison:
    facts = event["comparison"]
    draft = Draft(
        title=facts["title"],
        neutral_title=facts["neutral_title"],
        variable=facts["variable"],
        drink=facts["drink"],
        organised_by=facts["organised_by"],
        helpers=Helpers(facts["helpers"]),
        beers=tuple(
            Beer(
                letter=beer["letter"],
                name=beer["name"],
                value=beer["value"],
                abv=Decimal(beer["abv"]),
            )
            for beer in event["beers"]
        ),
        plan=plan_from_words(event["plan"]),
        serving=serving_from_words(event["serving"]),
    )
    known = plan_comparison.start_draft(at, actor, draft)
    for sitting in event["sittings"]:
        plan_comparison.add_sitting(at, actor, known.id, _sitting_draft(sitting))
    return known


def _sitting_draft(facts: Event) -> SittingDraft:
    return SittingDraft(
        name=facts["name"],
        kind=SittingKind(facts["kind"]),
        information=Information(facts["information"]),
        planned=facts["planned"],
        place=facts["place"],
        starts=_start(facts),
        zone=facts["zone"],
        told=facts.get("told", ""),
        paper=Paper(facts.get("paper", "a4")),
    )


def _start(facts: Event) -> datetime:
    local = datetime.fromisoformat(facts["starts"]).replace(tzinfo=ZoneInfo(facts["zone"]))
    return local.astimezone(UTC)


def _hold(
    at: Workplace,
    actor: Actor,
    known: Comparison,
    sitting: Sitting,
    facts: Event,
    chance: random.Random,
) -> None:
    """One sitting from opening to closing, with everything that goes wrong in it."""
    _pour(at, actor, known.id, sitting.id)
    open_sitting.open_sitting(at, actor, known.id, sitting.id)
    board = open_sitting.board(at, actor, known.id, sitting.id)
    trays = _handed_out(at, actor, known.id, board.trays, facts)
    with at.units.read() as session:
        key = unwrap(session, at, known.id).key
    table = _Table(at, actor, known, key, chance)
    late: list[tuple[Taster, Tray]] = []
    for taster, tray in zip(_tasters(facts, chance), trays, strict=True):
        if taster.place == facts.get("late"):
            late.append((taster, tray))
        else:
            table.vote(taster, tray, again=_again(facts, taster.place))
    for question in settle_ballots.outstanding(at, actor, known.id).questions:
        settle_ballots.settle(
            at, actor, known.id, question.tray.number, question.copies[0].revision
        )
    open_sitting.close_sitting(at, actor, known.id, sitting.id, anyway=bool(late))
    for taster, tray in late:
        table.vote(taster, tray)


def _pour(at: Workplace, actor: Actor, comparison_id: str, sitting_id: str) -> None:
    """A helper takes up a pourer's link and looks at the mats."""
    link = invite.invite(at, actor, comparison_id, sitting_id, Role.POURER)
    pourer = sign_in.person_of(at, invite.accept(at, link))
    assert pourer is not None  # let in just now
    pour.pouring(at, pourer, comparison_id, sitting_id)


def _handed_out(
    at: Workplace, actor: Actor, comparison_id: str, trays: tuple[Tray, ...], facts: Event
) -> Iterator[Tray]:
    """The trays in the order in which tasters come; a misfilled one is replaced by a spare."""
    planned = [tray for tray in trays if not tray.spare]
    spares = iter(tray for tray in trays if tray.spare)
    for place in range(1, facts["turnout"] + 1):
        tray = planned[place - 1]
        if place == facts.get("misfilled"):
            open_sitting.set_aside(at, actor, comparison_id, tray.number, Reason.MISFILLED)
            tray = next(spares)
        open_sitting.hand_out(at, actor, comparison_id, tray.number)
        if facts.get("taster"):
            open_sitting.name_taster(at, actor, comparison_id, tray.number, facts["taster"])
        yield tray


def _tasters(facts: Event, chance: random.Random) -> Iterator[Taster]:
    told = facts.get("told_at_the_table", [])
    for place in range(1, facts["turnout"] + 1):
        knew = Knew.VARIABLE if place in told else Knew.NOTHING
        if facts["kind"] == "repeat":
            knew = Knew.HELPED
        yield Taster(
            place,
            phone=place <= facts["phones"],
            tells=place in told or chance.random() < facts["tell"],
            knew=knew,
        )


def _again(facts: Event, place: int) -> str:
    if place == facts.get("duplicate"):
        return "same"
    return "other" if place == facts.get("differing") else ""


USUALLY = 0.6
"""How often somebody invented keeps to their first choice, nose first."""


@dataclass(frozen=True)
class _Table:
    """Casts invented ballots for known trays. Only an invented event may look at the key."""

    at: Workplace
    actor: Actor
    known: Comparison
    key: dict[int, str]
    chance: random.Random

    def vote(self, taster: Taster, tray: Tray, again: str = "") -> None:
        """One taster's ballot by phone or paper; `again` sends a second copy on paper."""
        picked = self._first(tray, taster)
        answers = self._answers(taster, tray, picked)
        if taster.phone:
            self._by_phone(tray, answers)
        else:
            self._keyed(tray, answers)
        if again:
            other = self._pick(tray, right=None, but=picked) if again == "other" else picked
            self._keyed(tray, self._answers(taster, tray, other))

    def _first(self, tray: Tray, taster: Taster) -> Answer:
        """What a taster answers: who tells is right, or ranks as the letters have it."""
        if taster.tells and isinstance(method_named(self.known.plan.method), Ranking):
            beers = zip(self.key[tray.number], tray.codes(), strict=True)
            return tuple(code for _, code in sorted(beers))
        return self._pick(tray, right=True if taster.tells else None)

    def _pick(self, tray: Tray, right: bool | None, but: Answer = ()) -> Answer:
        plan, order = self.known.plan, self.key[tray.number]
        method: Method = method_named(plan.method)
        asked = method.decides(plan)
        while True:
            answer = self._any(asked, tray.codes())
            judged = outcome_of(method, plan, order, tray.codes(), answer)
            if answer != but and (not right or judged is Outcome.RIGHT):
                return answer

    def _any(self, question: CupQuestion, codes: tuple[str, ...]) -> Answer:
        """Any answer to a question, by lot."""
        if isinstance(question, PickCups):
            places = sorted(self.chance.sample(question.positions, question.pick))
            return tuple(codes[place - 1] for place in places)
        if isinstance(question, OrderCups):
            return tuple(self.chance.sample(codes, len(codes)))
        return self.chance.choice(tuple(possible_answers(question, codes)))

    def _other_choice(self, tray: Tray, picked: Answer) -> dict[str, Answer]:
        """Nose first: the choice that does not decide, the same more often than not."""
        other = beside(method_named(self.known.plan.method), self.known.plan)
        if other is None:
            return {}
        same = self.chance.random() < USUALLY
        return {other.id: picked if same else self._any(other, tray.codes())}

    def _answers(self, taster: Taster, tray: Tray, picked: Answer) -> dict[str, Answer]:
        plan = self.known.plan
        method = method_named(plan.method)
        sure = ("sure", "not-sure") if taster.tells else ("not-sure", "guess", "guess")
        answers = {
            "knew": (str(taster.knew),),
            deciding(method, plan).id: picked,
            **self._other_choice(tray, picked),
            SURE.id: (self.chance.choice(sure),),
        }
        asked = {question.id for question in ballot_questions(method, plan)}
        return {name: answer for name, answer in answers.items() if name in asked}

    def _by_phone(self, tray: Tray, answers: dict[str, Answer]) -> None:
        token = tray_tokens(self.at.instance_key, self.known.id, tray.number, tray.version).token
        take_ballot.take_phone(self.at, ref_of(token), answers, f"demo-{tray.number}")

    def _keyed(self, tray: Tray, answers: dict[str, Answer]) -> None:
        take_ballot.take_keyed(
            self.at,
            self.actor,
            self.known.id,
            card_number(tray.number),
            answers,
            key="",
            channel=Channel.KEYED,
        )
