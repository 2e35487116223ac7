"""How leaks are planted: each changes one step of the program, and is met at one place.

A leak looks up the key or the beers of the event that is asking, as a careless program could; by
nothing else can its page or sheet be told from an honest one.
"""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass

import pytest

from panel.core.comparison import Tray
from tests.blinding.artefacts import Changed, Reader, dump
from tests.blinding.company import Walk, logged
from tests.blinding.event import Event, Facts, evening
from tests.blinding.looking import hand, look_as_steward, look_as_tasters, pour

_asked: list[Event] = []


@contextmanager
def asking(event: Event) -> Iterator[Event]:
    """For a while every leak gives away this event's secrets."""
    _asked.append(event)
    try:
        yield event
    finally:
        _asked.pop()


def asked() -> Event:
    """The event that is asked just now."""
    return _asked[-1]


def order_of(event: Event, tray: Tray) -> str:
    """What nobody blind may know."""
    return event.key()[tray.number]


def tray_of(event: Event, ref: str) -> Tray:
    """The tray whose ballot stands at that address."""
    return next(tray for tray in event.trays() if event.ref(tray) == ref)


USUAL = Facts()


@dataclass(frozen=True, kw_only=True)
class Leak:
    """What it gives away, how it is planted, where it is met, and at what evening."""

    gives: Changed
    plant: Callable[[pytest.MonkeyPatch], None]
    met: Callable[[Walk], None]
    facts: Facts = USUAL


# --- where leaks are met -------------------------------------------------------------------------


def on_phones(walk: Walk) -> None:
    """Four trays' ballots."""
    look_as_tasters(walk, walk.event.trays()[:4])


def on_a_step(walk: Walk) -> None:
    """One step of a ballot, which leaves a cookie."""
    tray = walk.event.trays()[0]
    phone = walk.phone(tray)
    page = phone.get(f"/{walk.event.tokens(tray).token}")
    phone.send(page, button="on", **{"answer-knew": "nothing"})


def on_a_refusal(walk: Walk) -> None:
    """A ballot with a cup of another tray."""
    first, second = walk.event.trays()[:2]
    phone = walk.phone(first)
    page = phone.get(f"/{walk.event.tokens(first).token}")
    wrong = {"answer-knew": "nothing", "answer-odd": second.codes()[0]}
    phone.send(page, button="send", **wrong)


def on_the_stewards_pages(walk: Walk) -> None:
    """Board and lists."""
    look_as_steward(walk)


def on_the_pourers_screen(walk: Walk) -> None:
    """The mats."""
    pour(walk)


def on_the_public_page(walk: Walk) -> None:
    """What members read, and a file that is not there yet."""
    slug = walk.event.known.slug
    walk.member.get(f"/r/{slug}")
    walk.member.get(f"/r/{slug}/findings.json")


def on_paper(name: str) -> Callable[[Walk], None]:
    """One sheet of the kit."""
    return lambda walk: hand(walk, name)


def in_the_log(walk: Walk) -> None:
    """What the machine writes while phones are looked at."""
    with logged() as log:
        on_phones(walk)
    walk.album.keep(Reader.OPERATOR, "log", (), log.getvalue().encode())


def in_the_database(walk: Walk) -> None:
    """The rows of an evening that is sealed while the leak is there."""
    with evening(walk.event.facts) as event, asking(event):
        event.seal()
        walk.album.keep(Reader.COPIER, "database", (), dump(event.at))
