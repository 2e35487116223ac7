"""The storm: ballots pour in, the service is killed at random instants and started again.

After every kill the files are looked at as they lie on the disk, before the service mends
anything, and held against the senders' ledgers.
"""

import hashlib
import hmac
import random
import shutil
import sqlite3
import time
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass, field
from pathlib import Path

from sqlalchemy import create_engine, select
from sqlalchemy.orm import Session

from panel import settings as settings_room
from panel.core.comparison import Comparison
from panel.core.deeds import Deed
from panel.services import sign_in
from panel.services.workplace import Workplace, cookie_key, open_workplace
from panel.store import ballots, records
from panel.store import trays as trays_store
from panel.store.tables_record import RecordRow
from panel.store.tables_serving import AnswerRow, BallotRow
from tests.builders import serving, trays
from tests.faults.phones import Laptop, Ledger, Phone, Sender, State
from tests.faults.service import Service

LIVES = (0.0, 1.2)
"""Seconds between the service's being ready and the kill, at random."""

SENT = (0, 16)
"""Sends that a life sees at least, at random: on a busy machine the seconds alone may see none."""

SLOWEST = 30.0
"""Seconds after which a life ends, whatever was sent; a guard."""

PHONES, PLANNED = 4, 40


@dataclass
class Storm:
    """What happened. `wrong` is empty if every invariant held after every kill."""

    kills: int = 0
    wrong: list[str] = field(default_factory=list)
    starts: list[float] = field(default_factory=list)
    forms: Counter[State] = field(default_factory=Counter)
    posts: int = 0
    cuts: int = 0
    repeats: int = 0
    kept: int = 0
    by_channel: Counter[str] = field(default_factory=Counter)


def storm(
    folder: Path, kills: int, seed: str, go_on: Callable[[Storm], bool] = lambda _seen: True
) -> Storm:
    """Kills the service that many times under load; what was found. `folder` is empty.

    `go_on` is asked after every kill that was looked at, and may end the storm early.
    """
    known, senders = doors_open(folder)
    chance = random.Random(seed)
    seen = Storm()
    for _ in range(kills):
        service = Service(folder)
        seen.starts.append(service.seconds)
        senders = [one.again_at(service.port) for one in senders]
        for one in senders:
            one.start()
        _live(senders, chance)
        service.kill()
        seen.kills += 1
        _stand_still(senders, seen)
        seen.wrong += wrong_with(folder, known.id, [one.ledger for one in senders])
        if not go_on(seen) or seen.wrong:
            break
    _last_life(folder, known, senders, seen)
    return seen


def _live(senders: list[Sender], chance: random.Random) -> None:
    """Lets time pass until the next kill: neither instant looks at what is being written."""
    guard = time.monotonic() + SLOWEST
    least = chance.randint(*SENT) + sum(one.ledger.posts for one in senders)
    time.sleep(chance.uniform(*LIVES))
    while sum(one.ledger.posts for one in senders) < least and time.monotonic() < guard:
        time.sleep(chance.uniform(0.005, 0.05))


def wrong_with(folder: Path, comparison_id: str, ledgers: list[Ledger]) -> list[str]:
    """What does not hold in the files of a service that is not running."""
    with _as_it_lies(folder) as path, closing(sqlite3.connect(path)) as plain:
        found = []
        if plain.execute("PRAGMA integrity_check").fetchall() != [("ok",)]:
            found.append("the database file is damaged")
        if plain.execute("PRAGMA foreign_key_check").fetchone() is not None:
            found.append("rows point at rows that are missing")
        plain.close()
        engine = create_engine(f"sqlite:///{path}")
        with Session(engine) as session:
            found += _broken_chains(session)
            found += _wrong_ballots(session, comparison_id, ledgers)
        engine.dispose()
    return found


def _broken_chains(session: Session) -> list[str]:
    places = ((chain, records.verify(session, chain)) for chain in records.chains(session))
    return [f"the record {chain} breaks at {place}" for chain, place in places if place is not None]


def _wrong_ballots(session: Session, comparison_id: str, ledgers: list[Ledger]) -> list[str]:
    there: dict[str, dict[str, tuple[str, ...]]] = {}
    keys = {}
    found = []
    for row in session.scalars(select(BallotRow).where(BallotRow.comparison == comparison_id)):
        key = str(row.idempotency_key)
        if key in there:
            found.append(f"{key} is there twice")
        there[key] = {}
        keys[row.tray, row.revision] = key
    for answer in session.scalars(select(AnswerRow).where(AnswerRow.comparison == comparison_id)):
        key = keys.get((answer.tray, answer.revision), "")
        there.setdefault(key, {})[answer.question] = tuple(answer.words)
    sent = {form.key: form for ledger in ledgers for form in ledger.forms}
    found += [f"{key} was never sent" for key in there.keys() - sent.keys()]
    for key, form in sent.items():
        if key in there and there[key] != form.answers:
            found.append(f"tray {form.tray}: {there[key]} is not what was sent: {form.answers}")
        if key not in there and form.state is State.ACKNOWLEDGED:
            found.append(f"tray {form.tray}: acknowledged, and not there")
    told = session.scalars(select(RecordRow).where(RecordRow.what == Deed.BALLOT_TAKEN)).all()
    lines = Counter((int(line.subject), line.detail) for line in told)
    if len(told) != len(there) or len(lines) != len(told):
        found.append(f"{len(told)} lines in the record for {len(there)} ballots")
    return found


def doors_open(folder: Path) -> tuple[Comparison, list[Sender]]:
    """A sitting that is being served, phones that have opened their cards, a laptop signed in."""
    at = open_workplace(settings_room.load({}, folder))
    try:
        known = serving(at, planned=PLANNED)
        all_trays = tuple(one for one in trays(at, known) if not one.spare)
        refs = _refs(at, known)
        shares = [all_trays[place :: PHONES + 1] for place in range(PHONES + 1)]
        senders: list[Sender] = []
        for place, share in enumerate(shares[:PHONES]):
            phone = Phone(known, share, f"phone {place}")
            phone.addresses = {one.number: refs[one.number] for one in share}
            senders.append(phone)
        laptop = Laptop(known, shares[PHONES], "laptop")
        laptop.cookie = sign_in.set_up(at, sign_in.set_up_link(at), "Robin", "heron lantern spoon")
        return known, [*senders, laptop]
    finally:
        at.units.close()


def _refs(at: Workplace, known: Comparison) -> dict[int, tuple[str, str]]:
    """Tray number to its name in addresses and the proof that its card was opened."""
    with at.units.read() as session:
        names = trays_store.refs(session, known.id)
    key = cookie_key(at)
    return {
        number: (ref, hmac.new(key, f"tray {ref}".encode(), hashlib.sha256).hexdigest())
        for number, ref in names.items()
    }


def _stand_still(senders: list[Sender], seen: Storm) -> None:
    for one in senders:
        one.stop.set()
    for one in senders:
        one.join(60)
        if one.failure is not None:
            raise one.failure
        if one.is_alive():
            raise AssertionError("a sender hangs")
    seen.wrong += [form.why for one in senders for form in one.ledger.in_state(State.REFUSED)]
    seen.wrong += [word for one in senders for word in one.ledger.changed_receipts]


def _last_life(folder: Path, known: Comparison, senders: list[Sender], seen: Storm) -> None:
    """Whatever is unknown still is sent again until it is acknowledged; then all is counted."""
    service = Service(folder)
    senders = [one.again_at(service.port) for one in senders]
    for one in senders:
        for _ in range(40):
            if one.pending is None or one.pending.state is State.ACKNOWLEDGED:
                break
            one._one()
    seen.starts.append(service.seconds)
    if service.stop() != 0:
        seen.wrong.append("the service did not stop as told")
    ledgers = [one.ledger for one in senders]
    seen.wrong += wrong_with(folder, known.id, ledgers)
    for ledger in ledgers:
        seen.forms.update(form.state for form in ledger.forms)
        seen.posts += ledger.posts
        seen.cuts += ledger.cuts
        seen.repeats += ledger.repeats
    with _as_it_lies(folder) as path:
        engine = create_engine(f"sqlite:///{path}")
        with Session(engine) as session:
            kept = ballots.every_revision(session, known.id)
        engine.dispose()
    seen.kept = len(kept)
    seen.by_channel.update(str(one.channel) for one in kept)


@contextmanager
def _as_it_lies(folder: Path) -> Iterator[Path]:
    """A copy of the database file and its log, so that looking does not mend the original."""
    looked = folder / "looked-at"
    looked.mkdir()
    try:
        for path in folder.glob("panel.db*"):
            if not path.name.endswith("-shm"):
                shutil.copyfile(path, looked / path.name)
        yield looked / "panel.db"
    finally:
        shutil.rmtree(looked)
