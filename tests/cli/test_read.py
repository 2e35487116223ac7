"""`panel read`: what was taken, what waits, and the exit status that says so."""

import sqlite3
from pathlib import Path

import pytest
from click.testing import CliRunner

from panel.cli import panel
from panel.core.allocation.check_letter import card_number
from panel.core.paper.card_format import CARD_FORMATS
from tests.builders import serving, trays, workplace
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


@pytest.fixture
def trial(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> tuple[Path, Path, list[str]]:
    """A sheet of cards of which the first is filled in, what people see on it, and the command."""
    folder = tmp_path / "instance"
    monkeypatch.setenv("PANEL_DATABASE_URL", f"sqlite:///{tmp_path / 'panel.db'}")
    monkeypatch.setenv("PANEL_ADDRESS", "http://10.0.0.5:8000")
    with workplace(f"sqlite:///{tmp_path / 'panel.db'}", folder) as at:
        known = serving(at)
        first = trays(at, known)[0]
        picture = sheet_of(at, known.id, known.sittings[0].id)
    marks = {("knew", "nothing"), ("odd", 2), ("sure", "guess")}
    filled(picture, known, CARD_FORMATS["a6"], 0, marks)
    cards, truth = tmp_path / "cards.png", tmp_path / "truth.csv"
    cards.write_bytes(png(picture))
    truth.write_text(
        f"card,knew,odd,sure,marks\n"
        f"{card_number(first.number)},nothing,{first.codes()[1]},guess,filled\n",
        encoding="utf-8",
    )
    line = ["read", known.id, str(cards), "--truth", str(truth), "--instance", str(folder)]
    return cards, truth, line


def test_a_trial_scores_every_place_and_takes_nothing(
    trial: tuple[Path, Path, list[str]], tmp_path: Path
) -> None:
    _, _, line = trial
    before = database_rows(tmp_path)
    done = CliRunner().invoke(panel, line)
    assert done.exit_code == 0, done.output
    assert "1 cards scored, of 1 on the sheet." in done.output
    assert "3 codes or cards that are not on the sheet." in done.output
    places = 4 + 3 * 2 + 3  # what was known, each cup with its small square, how sure
    table = done.output.split("Place ")[1].split("Marked ")[0]
    assert [line.split()[-6:] for line in table.splitlines() if line.startswith("all")] == [
        [str(places), "0", "0", "1", "in", str(places // 3)]
    ]
    assert "filled ring" in done.output
    assert "No ballot was taken." in done.output
    assert "1 of 1 pages, 4 cards so far" in done.output
    assert database_rows(tmp_path) == before


def test_in_a_trial_what_people_see_otherwise_is_a_silent_error_by_name(
    trial: tuple[Path, Path, list[str]],
) -> None:
    _, truth, line = trial
    truth.write_text(truth.read_text().replace(",guess,", ",sure,"), encoding="utf-8")
    done = CliRunner().invoke(panel, line)
    assert done.exit_code == 3
    assert done.output.count("SILENT ERROR") == 2
    assert "sure guess: people see “empty ring”, the reader the contrary." in done.output


def test_a_sheet_that_is_not_right_is_refused_before_anything_is_read(
    trial: tuple[Path, Path, list[str]],
) -> None:
    _, truth, line = trial
    truth.write_text(truth.read_text().replace("nothing,", "everything,"), encoding="utf-8")
    done = CliRunner().invoke(panel, line)
    assert done.exit_code != 0
    assert "Row 2, column knew: “everything” is no place to mark on this card." in done.output
    assert "Nothing was read." in done.output
    assert "scored" not in done.output


def database_rows(folder: Path) -> list[str]:
    connection = sqlite3.connect(folder / "panel.db")
    try:
        return list(connection.iterdump())
    finally:
        connection.close()
