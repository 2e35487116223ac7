"""An invented comparison with ballots, for tests of what a result says: trays answered at will.

`evening(...)` is the whole of it; `answered` gives each tray the answer that is wanted of it.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from itertools import cycle

from panel.core.ballot import Ballot
from panel.core.comparison import Beer, Comparison, Cup, Key, Seal, Sitting, Tray
from panel.core.methods import Method, method_named
from panel.core.methods.method import outcome_of
from panel.core.names import (
    Aim,
    CardStanding,
    Channel,
    Information,
    Knew,
    Outcome,
    Reason,
    SittingKind,
    SittingStanding,
    Standing,
)
from panel.core.nose_first import beside, deciding
from panel.core.plan import Plan, Serving
from panel.core.possible_answers import possible_answers
from panel.core.questions import NO_CHOICE, Answer

NOON = datetime(2026, 3, 14, 12, tzinfo=UTC)
BEERS = (
    Beer(letter="A", name="the saison from the bottle", value="conditioned in the bottle"),
    Beer(letter="B", name="the saison from the keg", value="carbonated in the keg"),
)


def sitting(
    name: str,
    information: Information = Information.BLINDED,
    kind: SittingKind = SittingKind.TABLE,
    *,
    planned: int = 12,
    groups_drawn: bool = False,
) -> Sitting:
    """A closed sitting of an invented guild."""
    informed = information is Information.INFORMED
    return Sitting(
        id=name,
        name=f"The {name} table",
        kind=kind,
        information=information,
        planned=planned,
        drawn=2 * planned,
        place="The back room",
        starts=NOON + timedelta(hours=7),
        zone="Europe/London",
        told="One was conditioned in the bottle, the other in the keg." if informed else "",
        groups_drawn=groups_drawn,
        standing=SittingStanding.CLOSED,
        opened=NOON + timedelta(hours=7),
        closed=NOON + timedelta(hours=9),
    )


def comparison(plan: Plan | None = None, *sittings: Sitting) -> Comparison:
    """A closed comparison; without sittings it has one blinded table."""
    return Comparison(
        id="abcdefghijkl",
        slug="abcdefghijklmnop",
        title="Saison: conditioned in the bottle, or in the keg?",
        neutral_title="Two saisons",
        variable="where the saison was conditioned",
        beers=BEERS,
        plan=plan or Plan(method="triangle", tasters=12),
        serving=Serving(temperature=Decimal(8), vessel="dark cups"),
        organised_by="Alder Quay Fermenters",
        standing=Standing.CLOSED,
        sittings=sittings or (sitting("blue"),),
        seal=Seal(digest="4f" * 32, made=NOON),
        created=NOON - timedelta(days=3),
        closed=NOON + timedelta(hours=10),
    )


@dataclass(frozen=True)
class Evening:
    """What `outcomes_of` takes."""

    comparison: Comparison
    key: Key
    trays: tuple[Tray, ...]
    ballots: tuple[Ballot, ...]


@dataclass(frozen=True, kw_only=True)
class Answered:
    """A tray and what is wanted of it. `outcome` None: no ballot. `out`: noted as handed out.

    Nose first: `beside` is how the choice that does not decide comes out, None where it is missing;
    `turned`: if both are wrong, it is another wrong answer.
    """

    sitting: str
    outcome: Outcome | None = Outcome.RIGHT
    knew: tuple[Knew, ...] = (Knew.NOTHING,)
    standing: CardStanding = CardStanding.RETURNED
    reason: Reason | None = None
    late: bool = False
    taster: str = ""
    order: str = ""  # else the next of the method's complete set
    spare: bool = False
    out: bool = False
    beside: Outcome | None = None
    turned: bool = False


def times(count: int, answered: Answered) -> tuple[Answered, ...]:
    """The same again."""
    return (answered,) * count


def right_and_wrong(name: str, right: int, tasters: int, **common: object) -> tuple[Answered, ...]:
    """A table at which `right` of `tasters` were right."""
    one = Answered(sitting=name)
    wrong = replace(one, outcome=Outcome.WRONG)
    both = times(right, one) + times(tasters - right, wrong)
    return tuple(replace(answered, **common) for answered in both)


def evening(compared: Comparison, answered: Iterable[Answered]) -> Evening:
    """Trays numbered from 1, each with codes of its own, and the ballots that were asked for."""
    method = method_named(compared.plan.method)
    orders = {name.id: cycle(method.orders(compared.plan)) for name in compared.sittings}
    key: Key = {}
    trays, ballots = [], []
    for number, wanted in enumerate(answered, start=1):
        key[number] = wanted.order or next(orders[wanted.sitting])
        tray = _tray(number, wanted, len(key[number]))
        trays.append(tray)
        if wanted.outcome is not None:
            ballots.append(_ballot(compared.plan, tray, key[number], wanted))
    return Evening(compared, key, tuple(trays), tuple(ballots))


def _tray(number: int, wanted: Answered, cups: int) -> Tray:
    codes = (f"{100 + (number * 7 + position * 41) % 900}" for position in range(1, cups + 1))
    return Tray(
        number=number,
        sitting=wanted.sitting,
        wave=(number + 5) // 6,
        place=(number - 1) % 6 + 1,
        cups=tuple(Cup(position, code) for position, code in enumerate(codes, start=1)),
        spare=wanted.spare,
        standing=wanted.standing,
        reason=wanted.reason,
        taster=wanted.taster,
        handed_out=NOON + timedelta(hours=7, minutes=number) if wanted.out else None,
    )


def _ballot(plan: Plan, tray: Tray, order: str, wanted: Answered) -> Ballot:
    method = method_named(plan.method)
    chosen = pick(plan, tray, order, wanted.outcome)
    answers: dict[str, Answer] = {deciding(method, plan).id: chosen}
    other = beside(method, plan)
    if other is not None and wanted.beside is not None:
        but = chosen if wanted.turned else ()
        answers[other.id] = (
            chosen
            if wanted.beside is wanted.outcome and not wanted.turned
            else pick(plan, tray, order, wanted.beside, but)
        )
    if wanted.knew:
        answers["knew"] = tuple(wanted.knew)
    return Ballot(
        tray=tray.number,
        channel=Channel.PHONE,
        answers=answers,
        received=NOON + timedelta(hours=8, minutes=tray.number),
        late=wanted.late,
    )


def pick(plan: Plan, tray: Tray, order: str, outcome: Outcome | None, but: Answer = ()) -> Answer:
    """An answer that comes out so, another one than `but`; wrong ones go round the places, so that
    none is favoured."""
    if outcome is Outcome.NO_CHOICE:
        return (NO_CHOICE,)
    method: Method = method_named(plan.method)
    ways = list(possible_answers(method.decides(plan), tray.codes()))
    turn = tray.number // len(ways) % len(ways)
    for answer in ways[turn:] + ways[:turn]:
        came_out = outcome_of(method, plan, order, tray.codes(), answer)
        if came_out is outcome and answer != but:
            return answer
    raise ValueError(f"nothing is {outcome} on {order}")


def two_tables(
    blinded: tuple[int, int] = (15, 36),
    informed: tuple[int, int] = (9, 12),
    told: int = 0,
    aim: Aim = Aim.DIFFERENCE,
) -> Evening:
    """A blinded table and an informed one: (right, tasters). `told` more sit at the blinded one."""
    plan = Plan(method="triangle", aim=aim, tasters=36)
    compared = comparison(
        plan,
        sitting("blue", planned=36),
        sitting("green", Information.INFORMED),
    )
    knew = Answered(sitting="blue", knew=(Knew.VARIABLE,))
    return evening(
        compared,
        right_and_wrong("blue", *blinded) + times(told, knew) + right_and_wrong("green", *informed),
    )
