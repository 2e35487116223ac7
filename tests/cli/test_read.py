"""`panel read`: what was taken, what waits, and the exit status that says so."""

from pathlib import Path

import pytest
from click.testing import CliRunner

from panel.cli import panel
from panel.core.paper.card_format import CARD_FORMATS
from tests.builders import serving, workplace
from tests.services.test_read_cards import filled, png, sheet_of


def test_pictures_become_ballots_or_questions(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = tmp_path / "instance"
    database = f"sqlite:///{tmp_path / 'panel.db'}"
    monkeypatch.setenv("PANEL_DATABASE_URL", database)
    monkeypatch.setenv("PANEL_ADDRESS", "http://10.0.0.5:8000")
    with workplace(database, folder) as at:
        known = serving(at)
        picture = sheet_of(at, known.id, known.sittings[0].id)
    filled(
        picture, known, CARD_FORMATS["a6"], 0, {("knew", "nothing"), ("odd", 2), ("sure", "guess")}
    )
    cards, notes = tmp_path / "cards.png", tmp_path / "notes.txt"
    cards.write_bytes(png(picture))
    notes.write_text("no picture")
    line = ["read", known.id, str(cards), str(notes), "--instance", str(folder)]
    done = CliRunner().invoke(panel, line)
    assert done.exit_code == 3
    assert "taken, first." in done.output
    assert "waits for a person" in done.output
    assert "notes.txt: " in done.output
    assert "1 cards taken, 4 for a person to look at." in done.output
