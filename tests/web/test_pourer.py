"""The pourer's screen shows the wave as the mat does, and that somebody looked is recorded."""

import re

import pytest
from flask import Flask

from panel.core.deeds import Deed
from panel.core.names import Role
from panel.services import pour
from panel.services.workplace import Workplace
from panel.store import records
from tests.builders import ORGANISER, serving
from tests.web.conftest import with_pass


def test_every_cup_has_the_ring_of_its_jug(app: Flask, at: Workplace) -> None:
    known = serving(at, planned=12)
    pourer = with_pass(app, at, known, Role.POURER)
    door = pourer.get(f"/pourer/{known.id}/{known.sittings[0].id}")
    assert "Stand where nobody sees this screen" in door.text
    assert "Warm tank" not in door.html
    page = pourer.send(door, "/pourer/")
    shown = re.findall(r'place jug-(\d)">.*?<span class="code">(\d{3})</span>', page.html)
    wave = pour.pouring(at, ORGANISER, known.id, known.sittings[0].id).waves[0]
    assert shown == [(str(cup.jug), cup.code) for tray in wave.trays for cup in tray.cups]
    for name in wave.jugs:
        assert name in page.text


def test_another_wave_by_its_button(app: Flask, at: Workplace) -> None:
    known = serving(at, planned=12)
    pourer = with_pass(app, at, known, Role.POURER)
    page = pourer.send(pourer.get(f"/pourer/{known.id}/{known.sittings[0].id}"), "/pourer/")
    page = pourer.send(page, "/pourer/", button="2")
    assert "Wave 2" in page.text


def test_each_wave_says_plainly_which_jug_to_start_with(app: Flask, at: Workplace) -> None:
    known = serving(at, planned=12)
    pourer = with_pass(app, at, known, Role.POURER)
    page = pourer.send(pourer.get(f"/pourer/{known.id}/{known.sittings[0].id}"), "/pourer/")
    assert "In this wave start with Cool tank. Then Warm tank." in page.text
    page = pourer.send(page, "/pourer/", button="2")
    assert "In this wave start with Warm tank. Then Cool tank." in page.text


@pytest.mark.parametrize("looks", [1, 3])
def test_each_look_is_recorded(app: Flask, at: Workplace, looks: int) -> None:
    known = serving(at)
    pourer = with_pass(app, at, known, Role.POURER)
    door = pourer.get(f"/pourer/{known.id}/{known.sittings[0].id}")
    with at.units.read() as session:
        assert not records.tells(session, known.id, Deed.KEY_SHOWN, known.sittings[0].id)
    for _ in range(looks):
        pourer.send(door, "/pourer/")
    with at.units.read() as session:
        assert records.tells(session, known.id, Deed.KEY_SHOWN, known.sittings[0].id)
