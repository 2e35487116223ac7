"""Showing a result to the room: only the organiser, only from closing on, and written down."""

import pytest

from panel.core.deeds import Deed
from panel.services import publish, show_to_room
from panel.services.workplace import Workplace
from panel.store import records
from tests.builders import ORGANISER, serving
from tests.web.guest import Guest
from tests.web.test_public import closed


def times_shown(at: Workplace, comparison: str) -> int:
    with at.units.read() as session:
        return len(records.subjects(session, comparison, Deed.SHOWN_TO_ROOM))


def test_before_closing_there_is_nothing_to_show(organiser: Guest, at: Workplace) -> None:
    known = serving(at)
    assert organiser.get(f"/organise/{known.id}/show").status in (403, 409)
    assert organiser.get(f"/organise/{known.id}/show/1").status in (403, 409)
    assert "show" not in [link.rsplit("/", 1)[-1] for link in
                          organiser.get(f"/organise/{known.id}").links]  # fmt: skip


def test_showing_is_begun_and_written_down_before_anything_is_seen(
    organiser: Guest, guest: Guest, at: Workplace
) -> None:
    known = closed(at)
    where = f"/organise/{known.id}/show"
    assert where in organiser.get(f"/organise/{known.id}/findings").links
    door = organiser.get(where)
    assert "Whoever is in the room knows it then" in door.text
    early = organiser.get(f"{where}/1")
    assert early.status == 409
    assert "Begin the showing first" in early.text
    assert times_shown(at, known.id) == 0
    first = organiser.send(door, where)
    assert times_shown(at, known.id) == 1
    assert "Compare it with the poster" in first.text
    text = ""
    for number in range(1, 20):
        page = organiser.get(f"{where}/{number}")
        if page.status == 404:
            break
        assert "style=" not in page.html
        text += page.text
    assert number > 6
    assert "2 of 6 blinded tasters found the odd cup." in text
    assert "Publish it now" in text
    assert times_shown(at, known.id) == 1  # looking writes nothing
    for path in (where, f"{where}/1"):
        assert guest.client.get(path).status_code == 302
    assert guest.get(f"/r/{known.slug}").text.count("found the odd cup") == 0


def test_once_published_it_is_shown_without_being_written_down(
    organiser: Guest, at: Workplace
) -> None:
    known = closed(at)
    publish.publish(at, ORGANISER, known.id)
    show_to_room.begin(at, ORGANISER, known.id)
    assert times_shown(at, known.id) == 0
    where = f"/organise/{known.id}/show"
    assert "Whoever is in the room knows it then" not in organiser.get(where).text
    page = organiser.get(f"{where}/1")
    assert page.status == 200
    assert f"{where}/2" in page.links


@pytest.mark.parametrize("number", [0, 99])
def test_there_is_no_screen_but_those(organiser: Guest, at: Workplace, number: int) -> None:
    known = closed(at)
    show_to_room.begin(at, ORGANISER, known.id)
    assert organiser.get(f"/organise/{known.id}/show/{number}").status == 404
