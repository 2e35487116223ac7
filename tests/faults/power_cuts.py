"""A recorded run of the real service under load, and many power cuts of it, judged like kills."""

import random
import shutil
import time
from collections import Counter
from contextlib import closing
from dataclasses import dataclass, field, replace
from pathlib import Path

from sqlalchemy.exc import DatabaseError

from panel import settings as settings_room
from panel.services.workplace import open_workplace
from tests.faults import judge, power
from tests.faults.evening import Cast, doors_open, signed_in
from tests.faults.phones import Ledger, Sender, Sent, State, let_loose
from tests.faults.service import Service
from tests.faults.storm import InFile

LOG_PAGES = 150
"""Our own number is 4,000: so that many copyings of the log into the file are cut as well."""

RATE = 120.0
"""Forms a second that are offered, as many as one address may send with its receipts."""

FORMS_OF_A_PHONE = 8
"""Far fewer than one tray may send in a minute."""

NOTHING = "nothing can be read"


@dataclass
class Cuts:
    """What power cuts have left. `lost`: cuts after which an acknowledged ballot was not there, or
    nothing could be read; `broken`: after which the file was damaged; `wrong`: all, in words."""

    cuts: int = 0
    acknowledged: int = 0
    lost: int = 0
    broken: int = 0
    wrong: list[str] = field(default_factory=list)
    events: Counter[int] = field(default_factory=Counter)


def power_cuts(folder: Path, count: int, seed: str, forms: int, **env: str) -> Cuts:
    """Runs the service until so many forms are acknowledged, kills it, and looks at what so many
    power cuts at random instants of the run would have left. `folder` is empty."""
    before, live = folder / "before", folder / "live"
    before.mkdir()
    cast = Cast(phones=forms // FORMS_OF_A_PHONE, laptops=1, keyed=8, sheets=0)
    doors = doors_open(before, cast)
    at = open_workplace(settings_room.load({}, before))
    with closing(at.units):
        senders = doors.senders(seed, signed_in(at))
    InFile().begin(before, live)
    recording = folder / "recording"
    begun = _run(live, senders, forms, seed, {"RECORDED": str(recording), **env})
    found, chance = Cuts(), random.Random(seed)
    found.wrong += [form.why for one in senders for form in one.ledger.in_state(State.REFUSED)]
    found.events.update(one.kind for one in power.events(recording))
    after = folder / "after"
    shutil.copytree(before, after)
    ledgers = [one.ledger for one in senders]
    for moment in power.cuts(recording, before, after, count, chance, begun):
        found.cuts += 1
        known = [_as_known(one, moment) for one in ledgers]
        found.acknowledged += sum(len(one.in_state(State.ACKNOWLEDGED)) for one in known)
        wrong = _judged(after, doors.known.id, known)
        found.broken += any("damaged" in one for one in wrong)
        found.lost += any("not there" in one or NOTHING in one for one in wrong)
        found.wrong += wrong
    return found


def _run(folder: Path, senders: list[Sender], forms: int, seed: str, env: dict[str, str]) -> int:
    """When the service had started, by the steady clock."""
    pages = {"LOG_PAGES": str(LOG_PAGES), **env}
    service = Service(folder, ("tests.faults.recorded",), **pages)
    begun = time.monotonic_ns()
    load = let_loose(senders, service.port, RATE, random.Random(seed))
    guard = time.monotonic() + 120
    while _acknowledged(senders) < forms and time.monotonic() < guard:
        time.sleep(0.05)
    service.kill()
    load.stop()
    return begun


def _acknowledged(senders: list[Sender]) -> int:
    return sum(bool(form.acknowledged) for one in senders for form in tuple(one.ledger.forms))


def _as_known(ledger: Ledger, moment: int) -> Ledger:
    """What its sender had heard by then."""
    return Ledger([_form_then(form, moment) for form in ledger.forms])


def _form_then(form: Sent, moment: int) -> Sent:
    heard = 0 < form.acknowledged < moment
    return replace(form, state=State.ACKNOWLEDGED if heard else State.UNKNOWN)


def _judged(folder: Path, comparison: str, ledgers: list[Ledger]) -> list[str]:
    try:
        with InFile().looked_at(folder) as session:
            return judge.damaged(session) + judge.wrong_with(session, comparison, ledgers)
    except DatabaseError as failure:
        return [f"damaged, {NOTHING}: {failure.orig}"]
