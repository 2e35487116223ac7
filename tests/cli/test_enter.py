"""`panel enter`: what was taken, and every reason by row and column."""

from pathlib import Path

import pytest
from click.testing import CliRunner

from panel.cli import panel
from panel.core.allocation.check_letter import card_number
from tests.builders import serving, trays, workplace


def test_a_file_is_taken_whole_or_not_at_all(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = tmp_path / "instance"
    database = f"sqlite:///{tmp_path / 'panel.db'}"
    monkeypatch.setenv("PANEL_DATABASE_URL", database)
    monkeypatch.setenv("PANEL_ADDRESS", "http://10.0.0.5:8000")
    with workplace(database, folder) as at:
        known = serving(at)
        first, second = trays(at, known)[:2]
    file = tmp_path / "ballots.csv"
    right = f"{card_number(first.number)},{first.codes()[0]}"
    line = ["enter", known.id, str(file), "--instance", str(folder)]
    file.write_text(f"card,odd\n{right}\n{card_number(second.number)},000\n", encoding="utf-8")
    refused = CliRunner().invoke(panel, line)
    assert refused.exit_code == 3
    assert "Row 3, column odd: " in refused.output
    assert "Nothing of this file was taken." in refused.output
    file.write_text(f"card,odd\n{right}\n", encoding="utf-8")
    taken = CliRunner().invoke(panel, line)
    assert taken.exit_code == 0, taken.output
    assert "1 ballots taken, 0 were in already, 0 in question, 0 late." in taken.output
    again = CliRunner().invoke(panel, line)
    assert "0 ballots taken, 1 were in already" in again.output
