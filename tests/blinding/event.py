"""An evening through the real services and the real application, made again with one thing changed.

Clock, chance, instance key and form tokens follow from a seed, so that two evenings made from the
same facts are the same to the byte, and two that differ in what was changed differ in nothing else
that a blinded person can get. Only three things are put out of action, each for one reason:

- the seal's digest is a constant of the same length: it covers the beers' names and the key, so it
  must change with them, and rosette, short seal and records follow from it. The seal has its own
  tests (tests/core/allocation/test_seal.py);
- the limits on how often things may be asked: they count in seconds of the wall (their own tests
  are in tests/web/test_security.py), and a fast test would run into them;
- the slowness of password hashes, which has nothing to do with cups.
"""

from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, ExitStack, contextmanager
from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal
from functools import cached_property
from pathlib import Path
from tempfile import TemporaryDirectory
from types import SimpleNamespace
from unittest import mock

import flask_wtf.csrf
from flask import Flask
from itsdangerous import TimestampSigner

from panel import settings as settings_room
from panel.app import close, create_app, workplace_of
from panel.core.allocation import trays as trays_room
from panel.core.allocation.draw import INFORMED, ORDERS, Stream
from panel.core.comparison import Beer, Comparison, Key, Tray
from panel.core.duties import Duties
from panel.core.methods import method_named
from panel.core.names import Helpers, Information, Role, SittingKind
from panel.core.paper.payload import TrayTokens, ref_of, tray_tokens
from panel.core.plan import BALANCED, Plan, Serving
from panel.services import (
    close_and_unseal,
    invite,
    open_sitting,
    passwords,
    plan_comparison,
    publish,
    seal_comparison,
    settle_ballots,
)
from panel.services.plan_comparison import Draft, SittingDraft
from panel.services.sealed_key import unwrap
from panel.services.seeded import seeded_entropy
from panel.web.limits import flood, limiter
from tests.builders import ORGANISER, START, Clock
from tests.thrift import QUICK_PASSWORDS, lay_schema

ADDRESS = "http://localhost"
MASK = "5ea1" * 16
"""What stands where the seal's 64 digits would."""

SECRETS = ("quillon", "lorimer", "copper", "pewter", "fermenter", "daybreak")
"""Words of the beers' names, values and notes, of the variable and of the title: no blinded text
holds one of them. In no other word of the program."""

QUILLON = Beer(
    letter="A", name="Quillon", value="open copper", abv=Decimal("4.8"), notes="daybreak"
)
LORIMER = Beer(letter="B", name="Lorimer, second vat", value="closed pewter", abv=Decimal("6.3"))
SALTASH = Beer(letter="C", name="Saltash", value="third barrel", abv=Decimal("5.1"))
"""Where a method takes no fewer than three: it stays where it is."""
TOLD = "One was made in an open copper, the other in closed pewter."


@dataclass(frozen=True, kw_only=True)
class Facts:
    """What an evening is made of. The last five are what a twin changes."""

    method: str = "triangle"
    helpers: Helpers = Helpers.TWO
    kind: SittingKind = SittingKind.TABLE
    reference: str = BALANCED
    organiser_tastes: bool = False
    split: bool = False
    """Lots say which half of the tasters is told."""
    exchanged: bool = False
    """The beers change places in all but their letters: names, values, strengths, notes."""
    dealt_anew: bool = False
    """Every tray gets an order of another deal; its codes stay."""
    lots_anew: bool = False
    """At a split sitting the lots fall otherwise."""
    informed: bool = False
    """The sitting is told what was changed."""
    answered_otherwise: bool = False
    """Every ballot chooses other cups and says other things."""

    @property
    def beers(self) -> tuple[Beer, ...]:
        """The beers, A first."""
        first, second = (LORIMER, QUILLON) if self.exchanged else (QUILLON, LORIMER)
        every = (as_letter(first, "A"), as_letter(second, "B"), SALTASH)
        return every[: method_named(self.method).beers]


class Chance:
    """Bytes that follow from a seed, and that can begin anew with another one."""

    def __init__(self, seed: str) -> None:
        self.begin(seed)

    def begin(self, seed: str) -> None:
        """From now on what follows from this seed, whatever was drawn before."""
        self._bytes = seeded_entropy(seed)

    def __call__(self, length: int) -> bytes:
        return self._bytes(length)


def as_letter(beer: Beer, letter: str) -> Beer:
    """The same beer under another letter."""
    return Beer(letter=letter, name=beer.name, value=beer.value, abv=beer.abv, notes=beer.notes)


class Event:
    """One comparison with one sitting, on an application of its own. Only inside `steady()`."""

    def __init__(self, facts: Facts, folder: Path) -> None:
        self.facts = facts
        self.clock = Clock(START - timedelta(hours=5))
        self.chance = Chance("blinding")
        self.app: Flask = create_app(
            settings_room.load(
                {
                    "PANEL_DATABASE_URL": f"sqlite:///{folder / 'panel.db'}",
                    "PANEL_ADDRESS": ADDRESS,
                    "PANEL_GUILD": "The Harbour Guild",
                },
                folder,
            ),
            now=self.clock,
            entropy=self.chance,
        )
        self.at = workplace_of(self.app)
        self.id = plan_comparison.start_draft(
            self.at, ORGANISER, draft_of(facts), sitting_of(facts)
        ).id

    @property
    def known(self) -> Comparison:
        """The comparison as it stands."""
        return plan_comparison.comparison(self.at, ORGANISER, self.id)

    @cached_property
    def sitting(self) -> str:
        """The id of its sitting."""
        return self.known.sittings[0].id

    def trays(self) -> tuple[Tray, ...]:
        """All trays of the sitting by number."""
        found = open_sitting.board(self.at, ORGANISER, self.id, self.sitting).trays
        return tuple(sorted(found, key=lambda tray: tray.number))

    def key(self) -> Key:
        """Which tray has which order: for leaks alone, and for what proves them."""
        with self.at.units.read() as session:
            return unwrap(session, self.at, self.id).key

    def informed(self) -> frozenset[int]:
        """Which trays the lots of a split sitting have informed: for leaks alone likewise."""
        with self.at.units.read() as session:
            return unwrap(session, self.at, self.id).informed

    def tokens(self, tray: Tray) -> TrayTokens:
        """What stands on a tray's card as it is printed now."""
        return tray_tokens(self.at.instance_key, self.id, tray.number, tray.version)

    def ref(self, tray: Tray) -> str:
        """The tray's name in addresses."""
        return ref_of(self.tokens(tray).token)

    def link(self, role: Role) -> str:
        """A fresh link that opens a pass for that role."""
        return invite.invite(self.at, ORGANISER, self.id, self.sitting, role)

    def seal(self) -> None:
        """Locks the plan and draws the trays."""
        with self._deal():
            seal_comparison.seal(self.at, ORGANISER, self.id)
        self.clock.forward(hours=1)

    def open(self) -> None:
        """The sitting begins."""
        self.clock.forward(hours=4)
        open_sitting.open_sitting(self.at, ORGANISER, self.id, self.sitting)

    def end(self) -> None:
        """The sitting is over; ballots may still come late."""
        self.clock.forward(hours=1)
        open_sitting.close_sitting(self.at, ORGANISER, self.id, self.sitting, anyway=True)

    def close(self) -> None:
        """Every question is settled, the comparison closed and the key open."""
        self.clock.forward(minutes=10)
        for question in settle_ballots.outstanding(self.at, ORGANISER, self.id).questions:
            settle_ballots.settle(self.at, ORGANISER, self.id, question.tray.number, 1)
        settle_ballots.set_aside_rest(self.at, ORGANISER, self.id)
        close_and_unseal.close(self.at, ORGANISER, self.id)

    def publish(self) -> None:
        """The result is everybody's."""
        self.clock.forward(minutes=10)
        publish.publish(self.at, ORGANISER, self.id)

    @contextmanager
    def _deal(self) -> Iterator[None]:
        """In a twin that is dealt anew: the same codes, orders or lots from another secret."""
        facts = self.facts
        anew = {ORDERS: facts.dealt_anew, INFORMED: facts.lots_anew}

        def stream(secret: bytes, purpose: str) -> Stream:
            return Stream(secret[::-1] if anew.get(purpose.split("/")[-1]) else secret, purpose)

        with mock.patch.object(trays_room, "Stream", stream):
            yield


def draft_of(facts: Facts) -> Draft:
    """The comparison as its organiser writes it."""
    method = method_named(facts.method)
    plan = Plan(
        method=facts.method,
        aim=method.aims[0],
        sides=method.sides[0],
        drinks=method.beers,
        attribute="fruity" if method.directional else "",
        stronger="B" if method.directional else "",
        reference=facts.reference,
    )
    return Draft(
        title="Does the open fermenter show?",
        neutral_title="Two brown ales",
        variable="kind of fermenter",
        beers=facts.beers,
        plan=plan,
        serving=Serving(
            temperature=Decimal(8), vessel="dark cups", allergens=("barley (gluten)", "oats")
        ),
        organised_by="The Harbour Guild",
        helpers=facts.helpers,
        duties=Duties(organiser_tastes=facts.organiser_tastes),
    )


def sitting_of(facts: Facts) -> SittingDraft:
    """Its one sitting: six trays and as many spares."""
    information = Information.INFORMED if facts.informed else Information.BLINDED
    if facts.split:
        information = Information.SPLIT
    return SittingDraft(
        name="Spring evening",
        planned=6,
        starts=START,
        zone="Europe/London",
        kind=facts.kind,
        place="Back room",
        information=information,
        told="" if information is Information.BLINDED else TOLD,
    )


@contextmanager
def evening(facts: Facts) -> Iterator[Event]:
    """A drafted evening in a folder of its own. Only inside `steady()`."""
    with TemporaryDirectory() as name:
        folder = Path(name)
        lay_schema(f"sqlite:///{folder / 'panel.db'}")
        event = Event(facts, folder)
        try:
            yield event
        finally:
            close(event.app)


@contextmanager
def steady() -> Iterator[None]:
    """Everything around an event that would follow from the machine follows from a seed."""
    with ExitStack() as kept:
        for patch in _patches():
            kept.enter_context(patch)
        kept.enter_context(_unlimited())
        yield


def _patches() -> Iterator[AbstractContextManager[object]]:
    # Form tokens: 64 bytes of the machine's chance, signed with the time of the wall. Given here
    # from the seed and from the evening's start instead of masked, so that they are compared too.
    tokens: Callable[[int], bytes] = seeded_entropy("form tokens")
    yield mock.patch.object(flask_wtf.csrf, "os", SimpleNamespace(urandom=_same(tokens(64))))
    moment = int(START.timestamp())
    yield mock.patch.object(TimestampSigner, "get_timestamp", return_value=moment)
    yield mock.patch.object(seal_comparison, "seal_digest", return_value=MASK)
    yield mock.patch.multiple(passwords, **QUICK_PASSWORDS)


def _same(chance: bytes) -> Callable[[int], bytes]:
    """The same bytes whoever asks, and however often others have asked before."""
    return lambda length: chance[:length]


@contextmanager
def _unlimited() -> Iterator[None]:
    both = (flood, limiter)
    was = [one.enabled for one in both]
    for one in both:
        one.enabled = False
    try:
        yield
    finally:
        for one, before in zip(both, was, strict=True):
            one.enabled = before
