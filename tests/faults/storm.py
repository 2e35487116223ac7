"""The storm: ballots pour in, the service is killed at random instants and started again.

After every kill the database is looked at as it lies, before the service mends anything, and held
against the senders' ledgers (tests/faults/judge.py). A storm is made of evenings of some kills
each. Every evening begins alike, and ends with all that is unknown sent again, a stop as told,
and the closing of the sitting, whose counts must be the ballots that are there.
"""

import os
import random
import shutil
import time
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Protocol

from sqlalchemy import create_engine
from sqlalchemy.orm import Session

from panel import settings as settings_room
from panel.services import close_and_unseal, open_sitting, settle_ballots, tally
from panel.services.workplace import Workplace, open_workplace
from panel.store import ballots
from tests.builders import ORGANISER
from tests.faults import evening, judge
from tests.faults.evening import Cast, Doors
from tests.faults.phones import (
    MARK,
    Ledger,
    Sender,
    State,
    let_loose,
    until_all_are_in,
)
from tests.faults.service import Service

LIVES = ((0.8, 0.0, 1.0), (0.2, 0.8, 2.5))
"""Shares, and seconds between the service's being ready and the kill, at random: short ones, and
such in which pictures are read too."""

SENT = (0, 16)
"""Sends that a life sees at least, at random: on a busy machine the seconds alone may see none."""

SLOWEST = 30.0
"""Seconds after which a life ends, whatever was sent; a guard."""

READY = 5.0
"""Seconds within which the service takes ballots again, less those for which others had the
processor."""

EVENING = 25
"""Kills of one evening."""

TREE = 0.5
"""Share of kills that hit all processes of the service, not the first alone."""


@dataclass
class Storm:
    """What happened. `wrong` is empty if every invariant held after every kill."""

    kills: int = 0
    wrong: list[str] = field(default_factory=list)
    starts: list[float] = field(default_factory=list)
    waits: list[float] = field(default_factory=list)
    loads: list[float] = field(default_factory=list)
    forms: Counter[State] = field(default_factory=Counter)
    posts: int = 0
    cuts: int = 0
    repeats: int = 0
    receipts: int = 0
    under_load: float = 0.0
    kept: int = 0
    by_channel: Counter[str] = field(default_factory=Counter)
    backups: int = 0
    backed_up: int = 0
    """Ballots that were acknowledged before a backup began, all backups together."""
    pages: Counter[int] = field(default_factory=Counter)
    """Pages that were looked at before closing, by status."""
    killed: Counter[str] = field(default_factory=Counter)


class Place(Protocol):
    """Where the database lives: how an evening of it is made, killed and looked at."""

    url: str
    """"": the file in the instance folder."""

    def begin(self, doors_folder: Path, folder: Path) -> None:
        """The database of a new evening, as it was when the doors opened."""

    def kill(self, service: Service, chance: random.Random) -> str:
        """Kills something; in a word, what."""

    def looked_at(self, folder: Path) -> "Iterator[Session]":
        """A session on what is there, which changes nothing."""


class InFile:
    """SQLite in the instance folder."""

    url = ""

    def begin(self, doors_folder: Path, folder: Path) -> None:
        shutil.copytree(doors_folder, folder)

    def kill(self, service: Service, chance: random.Random) -> str:
        tree = chance.random() < TREE
        service.kill(tree)
        return "every process" if tree else "the service's own process"

    @contextmanager
    def looked_at(self, folder: Path) -> Iterator[Session]:
        """A copy of the file and its log, so that looking does not mend the original."""
        looked = folder.parent / f"{folder.name}-looked-at"
        looked.mkdir()
        try:
            for path in folder.glob("panel.db*"):
                if not path.name.endswith("-shm"):
                    shutil.copyfile(path, looked / path.name)
            engine = create_engine(f"sqlite:///{looked / 'panel.db'}")
            try:
                with Session(engine) as session:
                    yield session
            finally:
                engine.dispose()
        finally:
            shutil.rmtree(looked)


@dataclass
class Night:
    """An evening under way."""

    doors: Doors
    folder: Path
    place: Place
    senders: list[Sender]
    cookie: str
    rate: float
    chance: random.Random
    seen: Storm
    during: Callable[["Night", Service], None]
    service: Service | None = None
    """The last that was started; it may live still, where only something else was killed."""

    @property
    def environment(self) -> dict[str, str]:
        return {"PANEL_DATABASE_URL": self.place.url} if self.place.url else {}

    @property
    def ledgers(self) -> list[Ledger]:
        return [one.ledger for one in self.senders]

    def workplace(self) -> Workplace:
        """The same installation, opened by this process. Close its `units`."""
        return open_workplace(settings_room.load(self.environment, self.folder))


def _nothing(_night: Night, _service: Service) -> None:
    return


def storm(
    folder: Path,
    kills: int,
    seed: str,
    *,
    cast: Cast | None = None,
    rate: float = 50.0,
    place: Place | None = None,
    go_on: Callable[[Storm], bool] = lambda _seen: True,
    during: Callable[[Night, Service], None] = _nothing,
    first: int = 0,
) -> Storm:
    """Kills the service that many times under load; what was found. `folder` is empty.

    `go_on` is asked after every kill that was looked at, and may end the storm early. `during` may
    do something in every life, in this thread. `first`: the number of the first evening, for a
    storm that goes on where another stopped.
    """
    where = place or InFile()
    (folder / "doors").mkdir()
    doors = evening.doors_open(folder / "doors", cast or Cast(), where.url)
    seen = Storm()
    number = first
    while seen.kills < kills and not seen.wrong:
        night = _begun(folder, doors, where, f"{seed}, evening {number}", rate, seen, during)
        going = _evening(night, min(EVENING, kills - seen.kills), go_on)
        number += 1
        if not going:
            break
    return seen


def _begun(
    folder: Path,
    doors: Doors,
    place: Place,
    seed: str,
    rate: float,
    seen: Storm,
    during: Callable[[Night, Service], None],
) -> Night:
    tonight = folder / "evening"
    shutil.rmtree(tonight, ignore_errors=True)
    place.begin(folder / "doors", tonight)
    night = Night(doors, tonight, place, [], "", rate, random.Random(seed), seen, during)
    at = night.workplace()
    with closing(at.units):
        night.cookie = evening.signed_in(at)
    night.senders = doors.senders(seed, night.cookie)
    return night


def _evening(night: Night, kills: int, go_on: Callable[[Storm], bool]) -> bool:
    """Whether the storm goes on."""
    going = True
    try:
        for _ in range(kills):
            _one_life(night)
            if not go_on(night.seen) or night.seen.wrong:
                going = False
                break
        if not night.seen.wrong:
            _last_life(night)
    finally:
        if night.service is not None and night.service.process.poll() is None:
            night.service.kill(tree=True)
    return going


def _one_life(night: Night) -> None:
    seen, chance = night.seen, night.chance
    service = _started(night)
    load = let_loose(night.senders, service.port, night.rate, chance)
    begun = time.monotonic()
    try:
        _look_for_ballots(night, service)
        night.during(night, service)
        _live(night)
        seen.killed[night.place.kill(service, chance)] += 1
        seen.under_load += time.monotonic() - begun
        seen.kills += 1
    finally:
        load.stop()
    _heard(night, service)
    with night.place.looked_at(night.folder) as session:
        seen.wrong += judge.damaged(session)
        seen.wrong += judge.wrong_with(
            session, night.doors.known.id, night.ledgers, night.doors.pictures
        )
    if service.process.poll() is not None:
        seen.wrong += [f"outlived the service: {name}" for name in service.left_behind()]


def _started(night: Night) -> Service:
    """The same command every time, and nothing done by hand; one that still runs has to be ready
    again by itself."""
    seen, service = night.seen, night.service
    if service is None or service.process.poll() is not None:
        service = night.service = Service(night.folder, **night.environment)
        seen.starts.append(service.seconds)
        seen.waits.append(service.waited)
    else:
        seen.starts.append(service.ready_again(READY))
        seen.waits.append(0.0)
    seen.loads.append(os.getloadavg()[0])
    took, waited = seen.starts[-1], seen.waits[-1]
    if took - waited > READY:
        seen.wrong.append(f"ready after {took:.1f} s, {waited:.1f} s of waiting")
    return service


def _live(night: Night) -> None:
    """Lets time pass until the next kill: no instant looks at what is being written."""
    chance, ledgers = night.chance, night.ledgers
    guard = time.monotonic() + SLOWEST
    least = chance.randint(*SENT) + sum(one.posts for one in ledgers)
    (_, shortest, longest), *_ = chance.choices(LIVES, [share for share, _, _ in LIVES])
    time.sleep(chance.uniform(shortest, longest))
    while sum(one.posts for one in ledgers) < least and time.monotonic() < guard:
        time.sleep(chance.uniform(0.005, 0.05))


def _look_for_ballots(night: Night, service: Service) -> None:
    """Before closing no page shows what anybody answered, and there is no result to be had."""
    known, seen = night.doors.known, night.seen
    served = f"/steward/{known.id}/{known.sittings[0].id}"
    paths = {
        f"/r/{known.slug}": 200,
        f"/organise/{known.id}": 200,
        f"/organise/{known.id}/questions": 200,
        served: 200,
        f"{served}/trays": 200,
        f"{served}/key": 200,
        f"/organise/{known.id}/findings": 403,
        f"/r/{known.slug}/bundle.zip": 404,
    }
    path = night.chance.choice(list(paths))
    status, page = service.ask(path, f"panel-signed-in={night.cookie}")
    seen.pages[status] += 1
    if status != paths[path]:
        seen.wrong.append(f"{path} answers {status}")
    if MARK in page:
        seen.wrong.append(f"{path} shows a ballot before closing")


def _heard(night: Night, service: Service) -> None:
    """What senders themselves found wrong, with what the service has said of it."""
    night.seen.wrong += [
        form.why for ledger in night.ledgers for form in ledger.in_state(State.REFUSED)
    ]
    night.seen.wrong += [word for ledger in night.ledgers for word in ledger.wrong]
    if night.seen.wrong:
        night.seen.wrong.append("".join(service.told[-60:]))


def _last_life(night: Night) -> None:
    """Whatever is unknown still is sent again until it is acknowledged; then all is counted."""
    seen, known = night.seen, night.doors.known
    service = _started(night)
    until_all_are_in(night.senders, service.port)
    if service.stop() != 0:
        seen.wrong.append("the service did not stop as told")
    _heard(night, service)
    with night.place.looked_at(night.folder) as session:
        seen.wrong += judge.damaged(session)
        seen.wrong += judge.wrong_with(session, known.id, night.ledgers, night.doors.pictures)
        kept = ballots.every_revision(session, known.id)
    for ledger in night.ledgers:
        # A sheet that is photographed again is no further one.
        seen.forms.update({form.key: form.state for form in ledger.forms}.values())
        seen.posts += ledger.posts
        seen.cuts += ledger.cuts
        seen.repeats += ledger.repeats
        seen.receipts += sum("·" in form.receipt for form in ledger.forms)
    seen.kept += len(kept)
    seen.by_channel.update(str(one.channel) for one in kept)
    _closed(night, {one.tray for one in kept})


def _closed(night: Night, trays: set[int]) -> None:
    """The evening's end: the result counts every tray that has a ballot, once, and no other."""
    known = night.doors.known
    at = night.workplace()
    try:
        open_sitting.close_sitting(at, ORGANISER, known.id, known.sittings[0].id, anyway=True)
        settle_ballots.set_aside_rest(at, ORGANISER, known.id)
        close_and_unseal.close(at, ORGANISER, known.id)
        found = tally.findings(at, ORGANISER, known.id)
        with at.units.read() as session:
            counted = ballots.counted(session, known.id)
    finally:
        at.units.close()
    if set(counted) != trays:
        night.seen.wrong.append(f"counted are {sorted(counted)}, ballots have {sorted(trays)}")
    main = found.result.main
    if trays and (main is None or main.tasters != len(trays)):
        night.seen.wrong.append(f"the result speaks of {main and main.tasters} of {len(trays)}")
