"""Leaks planted in pages, sheets, log and database: comparing two evenings must find each of them.

At least one for each way out that docs/blinding.md names. Without its leak the same look at the
same two evenings finds nothing.
"""

from collections.abc import Callable, Iterator
from contextlib import ExitStack
from dataclasses import replace

import pytest

from panel.core.names import Blinding
from panel.services.take_ballot import TasterView
from panel.store import ballots
from panel.web import steward, taster
from tests.blinding import leaks_in_pages, leaks_on_paper
from tests.blinding.artefacts import (
    Album,
    Changed,
    Stage,
    differences,
    is_blind,
    tells_a_length,
)
from tests.blinding.company import Walk, arrive
from tests.blinding.event import Event, Facts, evening, steady
from tests.blinding.leaks_in_pages import in_page
from tests.blinding.looking import look, look_as_tasters
from tests.blinding.planting import Leak, asking
from tests.blinding.serving import serve

LEAKS: dict[str, Leak] = {**leaks_in_pages.LEAKS, **leaks_on_paper.LEAKS}

TWIN: dict[Changed, Callable[[Facts], Facts]] = {
    Changed.NAMES: lambda facts: replace(facts, exchanged=True),
    Changed.ORDERS: lambda facts: replace(facts, dealt_anew=True),
    Changed.TOLD: lambda facts: replace(facts, informed=True),
    Changed.LOTS: lambda facts: replace(facts, lots_anew=True),
}

Living = Callable[[Facts], Walk]


@pytest.fixture(scope="module")
def living() -> Iterator[Living]:
    """living(facts): an evening whose sitting is open, with everybody there; kept for all leaks."""
    with ExitStack() as kept:
        kept.enter_context(steady())
        walks: dict[Facts, Walk] = {}

        def opened(facts: Facts) -> Walk:
            if facts not in walks:
                event = kept.enter_context(evening(facts))
                event.seal()
                event.open()
                walks[facts] = arrive(event, whole=False)
                walks[facts].album.stage = Stage.SERVING
            return walks[facts]

        yield opened


def met(walk: Walk, leak: Leak) -> Album:
    """What is met at the leak's place."""
    album = walk.start_over()
    with asking(walk.event):
        leak.met(walk)
    return album


def found(living: Living, leak: Leak) -> list[str]:
    """Where the blind could tell two evenings apart at the leak's place."""
    one, other = living(leak.facts), living(TWIN[leak.gives](leak.facts))
    level = one.event.known.blinding
    albums = met(one, leak), met(other, leak)
    assert all(album.kept for album in albums)
    return differences(
        albums[0].kept, albums[1].kept, lambda each: is_blind(each, level, leak.gives)
    )


@pytest.mark.parametrize("name", LEAKS)
def test_it_is_found_and_nothing_without_it(
    living: Living, name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    leak = LEAKS[name]
    assert found(living, leak) == []
    leak.plant(monkeypatch)
    assert found(living, leak) != []


def test_pages_as_long_as_what_they_tell_are_found(
    living: Living, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Two evenings whose lots fell otherwise, on phones that do not fill up what they leave out."""
    one, other = living(Facts(split=True)), living(Facts(split=True, lots_anew=True))

    def lengths() -> list[str]:
        albums = [phones(walk) for walk in (one, other)]
        found = differences(albums[0].kept, albums[1].kept, lambda each: not each.is_sheet)
        return [line for line in found if tells_a_length(line)]

    assert lengths() == []
    honest = taster.render_template

    def leaking(name: str, *, view: TasterView, **context: object) -> str:
        return honest(name, view=replace(view, told_room=0), **context)

    monkeypatch.setattr(taster, "render_template", leaking)
    assert lengths() != []


def phones(walk: Walk) -> Album:
    """Every ballot of the sitting."""
    album = walk.start_over()
    look_as_tasters(walk, walk.event.trays())
    return album


def test_a_running_tally_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    """Two evenings whose ballots differ, and a board that counts who chose the first cup."""

    def tally(event: Event, _shown: dict[str, object]) -> str:
        with event.at.units.read() as session:
            kept = ballots.of_comparison(session, event.id)
        trays = {tray.number: tray for tray in event.trays()}
        first = sum(
            ballot.answers["odd"] == (trays[number].codes()[0],) for number, ballot in kept.items()
        )
        return f"<p>{first} chose the first cup</p>"

    def board(facts: Facts) -> Album:
        with evening(facts) as event, asking(event):
            event.seal()
            event.open()
            walk = arrive(event, whole=False)
            walk.album.stage = Stage.SERVING
            serve(walk)
            look(walk)
            return walk.album

    in_page(steward, tally)(monkeypatch)
    with steady():
        one, other = board(Facts()), board(Facts(answered_otherwise=True))
    found = differences(
        one.kept, other.kept, lambda each: is_blind(each, Blinding.DOUBLE, Changed.ANSWERS)
    )
    assert any("steward.board" in line for line in found)
    assert all("steward." in line for line in found)
