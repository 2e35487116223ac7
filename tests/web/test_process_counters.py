"""Rates that one process counts for itself."""

import pytest
from flask import Flask

from panel.services.workplace import Workplace
from panel.web import process_counters
from panel.web.process_counters import SWEPT_EVERY, ProcessCounters
from tests.builders import serving, token, trays
from tests.web.guest import Guest


class Stopped:
    """A clock in the place of the module `time`."""

    moment = 1_000.0

    def time(self) -> float:
        return self.moment


@pytest.fixture
def stopped_clock(monkeypatch: pytest.MonkeyPatch) -> Stopped:
    stopped = Stopped()
    monkeypatch.setattr(process_counters, "time", stopped)
    return stopped


def test_a_window_opens_with_its_first_hit_and_ends_whole(stopped_clock: Stopped) -> None:
    counters = ProcessCounters()
    assert [counters.incr("a", 60) for _ in range(3)] == [1, 2, 3]
    stopped_clock.moment += 59
    assert (counters.incr("a", 60), counters.get_expiry("a")) == (4, 1_060.0)
    stopped_clock.moment += 1
    assert (counters.get("a"), counters.get_expiry("a")) == (0, stopped_clock.moment)
    assert counters.incr("a", 60) == 1
    assert counters.get("b") == 0


def test_closed_windows_are_let_go_of_and_open_ones_kept(stopped_clock: Stopped) -> None:
    """A hall leaves a counter for each tray and each address behind."""
    counters = ProcessCounters()
    for place in range(500):
        counters.incr(f"short {place}", 1)
        counters.incr(f"long {place}", 3600)
    stopped_clock.moment += SWEPT_EVERY
    counters.incr("long 0", 3600)
    assert counters.get("long 0") == 2
    assert counters.reset() == 500
    assert counters.get("long 0") == 0


def test_ballots_count_against_their_address_too(
    app: Flask, at: Workplace, stopped_clock: Stopped
) -> None:
    """The limit of a tray stands beside the one of an address, not in its place."""
    known = serving(at)
    guest = Guest(app)
    pages = [guest.get(f"/{token(at, known, tray)}") for tray in trays(at, known)[:2]]
    sent = [guest.send(pages[0], button="send").status for _ in range(200)]
    assert sent == [422] * 30 + [429] * 170
    assert guest.send(pages[1], button="send").status == 429
    stopped_clock.moment += 1
    assert guest.send(pages[1], button="send").status == 422
