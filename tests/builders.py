"""Builders for tests: a workplace on a real database, and comparisons made by the real services."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any

from panel import settings as settings_room
from panel.core.comparison import Beer, Comparison, Tray
from panel.core.methods import method_named
from panel.core.names import Role, Smell
from panel.core.nose_first import cup_questions
from panel.core.paper.payload import tray_tokens
from panel.core.plan import Plan, Serving
from panel.core.possible_answers import possible_answers
from panel.core.questions import Answer, OrderCups, PickCups
from panel.core.side_questions import ballot_questions
from panel.services import (
    invite,
    keep_key,
    open_sitting,
    plan_comparison,
    seal_comparison,
    sign_in,
)
from panel.services.seeded import seeded_entropy
from panel.services.workplace import Actor, Workplace, open_workplace
from tests.thrift import lay_schema

START = datetime(2027, 3, 14, 18, 30, tzinfo=UTC)
ORGANISER = Actor(Role.ORGANISER, "organiser001", name="Organiser")


class Clock:
    """A clock that stands until it is moved."""

    def __init__(self, moment: datetime = START) -> None:
        self.moment = moment

    def __call__(self) -> datetime:
        return self.moment

    def forward(self, **by: float) -> None:
        """Moves on by a timedelta's words."""
        self.moment += timedelta(**by)


@contextmanager
def workplace(
    database_url: str, folder: Path, seed: str = "tests", clock: Clock | None = None
) -> Iterator[Workplace]:
    """A workplace on its own database with a clock that stands and entropy from a seed."""
    environment = {"PANEL_DATABASE_URL": database_url, "PANEL_ADDRESS": "http://10.0.0.5:8000"}
    folder.mkdir(parents=True, exist_ok=True)
    lay_schema(database_url)
    at = open_workplace(
        settings_room.load(environment, folder), clock or Clock(), seeded_entropy(seed)
    )
    try:
        yield at
    finally:
        at.units.close()


def draft(method: str = "triangle", **changes: Any) -> plan_comparison.Draft:
    """Two saisons, one fermented warm; a third where the method takes no fewer."""
    whole = plan_comparison.Draft(
        title="Does a warm fermentation show?",
        neutral_title="Two saisons",
        variable="fermentation warmth",
        beers=(
            Beer(letter="A", name="Cool tank", value="19 °C", abv=Decimal("5.0")),
            Beer(letter="B", name="Warm tank", value="27 °C", abv=Decimal("5.2")),
            Beer(letter="C", name="Mild tank", value="23 °C", abv=Decimal("5.1")),
        )[: method_named(method).beers],
        plan=plan_for(method),
        serving=Serving(temperature=Decimal(8), vessel="120 ml tasting glasses"),
        organised_by="The Harbour Guild",
    )
    return replace(whole, **changes)


def plan_for(method: str) -> Plan:
    """A plan that suits the method."""
    known = method_named(method)
    return Plan(
        method=method,
        aim=known.aims[0],
        sides=known.sides[0],
        drinks=known.beers,
        attribute="fruity" if known.directional else "",
        stronger="B" if known.directional else "",
    )


def sitting_draft(name: str = "Spring evening", **changes: Any) -> plan_comparison.SittingDraft:
    """A table of six blinded tasters."""
    whole = plan_comparison.SittingDraft(
        name=name, planned=6, starts=START, zone="Europe/London", place="Back room"
    )
    return replace(whole, **changes)


def nose_first(method: str = "triangle", **changes: Any) -> Plan:
    """A plan by which people choose by smell alone, and again after tasting."""
    return replace(plan_for(method), smell=Smell.FIRST, **changes)


def sealed(
    at: Workplace, method: str = "triangle", plan: Plan | None = None, **sitting: Any
) -> Comparison:
    """A sealed comparison with one sitting."""
    wanted = draft(method) if plan is None else draft(plan.method, plan=plan)
    known = plan_comparison.start_draft(at, ORGANISER, wanted)
    plan_comparison.add_sitting(at, ORGANISER, known.id, sitting_draft(**sitting))
    return seal_comparison.seal(at, ORGANISER, known.id)


def serving(
    at: Workplace, method: str = "triangle", plan: Plan | None = None, **sitting: Any
) -> Comparison:
    """A comparison whose one sitting is open."""
    known = sealed(at, method, plan, **sitting)
    # Where the clock is the machine's own, the builders' evening is another day.
    open_sitting.open_sitting(at, ORGANISER, known.id, known.sittings[0].id, another_day=True)
    return plan_comparison.comparison(at, ORGANISER, known.id)


def key_holder(at: Workplace, known: Comparison, name: str = "Keeper") -> Actor:
    """Somebody with a sign-in of their own who keeps the key of a comparison."""
    link = invite.invite(at, ORGANISER, known.id, known.sittings[0].id, Role.KEY_HOLDER)
    holder = sign_in.person_of(at, keep_key.take_up(at, link, name, "quiet copper kettle"))
    assert holder is not None
    return holder


def trays(at: Workplace, known: Comparison) -> tuple[Tray, ...]:
    """The trays of the first sitting."""
    return open_sitting.board(at, ORGANISER, known.id, known.sittings[0].id).trays


def answers(
    known: Comparison, tray: Tray, *positions: int, knew: str = "nothing"
) -> dict[str, Answer]:
    """A whole ballot that picks the cups at these positions (default: the first that can be), or
    puts them in this order. Other questions have the first answer that they can have."""
    method = method_named(known.plan.method)
    asked = cup_questions(method, known.plan)
    first = asked[0]
    if isinstance(first, PickCups | OrderCups):
        usual = first.positions if isinstance(first, OrderCups) else first.positions[: first.pick]
        codes = tuple(tray.codes()[place - 1] for place in positions or usual)
    else:
        codes = next(possible_answers(first, tray.codes()))
    given = {"knew": (knew,), **{one.id: codes for one in asked}, "sure": ("guess",)}
    return {name: given[name] for name in given if name in asked_on(known)}


def asked_on(known: Comparison) -> set[str]:
    """Ids of all that a ballot of the comparison asks."""
    plan = known.plan
    return {question.id for question in ballot_questions(method_named(plan.method), plan)}


def token(at: Workplace, known: Comparison, tray: Tray) -> str:
    """The token in the QR code of a tray's card."""
    return tray_tokens(at.instance_key, known.id, tray.number, tray.version).token
