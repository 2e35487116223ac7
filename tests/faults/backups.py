"""Backups that are taken while the storm blows, each of them restored and judged."""

import random
import shutil
import time
from contextlib import closing
from dataclasses import dataclass, replace
from pathlib import Path

from panel import settings as settings_room
from panel.services import back_up
from panel.store.instance_key import FILE
from tests.builders import ORGANISER
from tests.faults import judge
from tests.faults.phones import Ledger, Sent, State
from tests.faults.service import Service
from tests.faults.storm import InFile, Night

LATEST = 0.5
"""Seconds of a life after which its backup begins at the latest, at random."""


@dataclass
class Backups:
    """One in every life until there are enough, by another process than the service. What was
    acknowledged before it began has to be in it, whole; what came meanwhile may be."""

    wanted: int
    chance: random.Random

    def __call__(self, night: Night, _service: Service) -> None:
        if night.seen.backups >= self.wanted:
            return
        time.sleep(self.chance.uniform(0, LATEST))
        folder = night.folder.parent / "restored"
        out = night.folder.parent / "backup.zip"
        at = night.workplace()
        with closing(at.units):
            before = [_as_known(ledger) for ledger in night.ledgers]
            back_up.back_up(at, ORGANISER, out)
        night.seen.backups += 1
        night.seen.backed_up += sum(len(one.in_state(State.ACKNOWLEDGED)) for one in before)
        try:
            night.seen.wrong += [f"backup: {one}" for one in _restored(night, out, folder, before)]
        finally:
            out.unlink()
            shutil.rmtree(folder, ignore_errors=True)


def _restored(night: Night, out: Path, folder: Path, before: list[Ledger]) -> list[str]:
    """What does not hold in an empty installation to which the backup was restored."""
    folder.mkdir()
    shutil.copy(night.folder / FILE, folder / FILE)
    done = back_up.restore(out, settings_room.load({}, folder))
    found = [] if done.key_fits else ["the key does not fit"]
    # What is sent while the backup is made may be in it: the ledgers as they are now know it.
    known = [_with_later(then, now) for then, now in zip(before, night.ledgers, strict=True)]
    with InFile().looked_at(folder) as session:
        found += judge.damaged(session)
        found += judge.wrong_with(session, night.doors.known.id, known, night.doors.pictures)
    return found


def _as_known(ledger: Ledger) -> Ledger:
    """A copy of what its sender has heard so far."""
    return Ledger([replace(form) for form in tuple(ledger.forms)])


def _with_later(then: Ledger, now: Ledger) -> Ledger:
    """What was known then, and whatever was sent since, of which nothing is asked."""
    later = tuple(now.forms)[len(then.forms) :]
    return Ledger(then.forms + [_unknown(form) for form in later])


def _unknown(form: Sent) -> Sent:
    return replace(form, state=State.UNKNOWN)
