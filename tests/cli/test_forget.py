"""`panel forget` as it is typed."""

from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from panel.cli import panel
from panel.services import open_sitting
from tests.builders import ORGANISER, serving, workplace


def run(folder: Path, *words: str, typed: str = "") -> Result:
    line = ["forget", *words, "--instance", str(folder)]
    return CliRunner().invoke(panel, line, input=typed)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """An installation in which tray 1 has a nickname."""
    there = tmp_path / "instance"
    with workplace(f"sqlite:///{(there / 'panel.db').as_posix()}", there) as at:
        known = serving(at)
        open_sitting.name_taster(at, ORGANISER, known.id, 1, "Quillfeather")
    return there


def nickname(folder: Path) -> bytes:
    return b"".join(path.read_bytes() for path in folder.glob("panel.db*"))


def test_it_asks_first_and_says_what_is_gone(folder: Path) -> None:
    refused = run(folder, "Does a warm", typed="n\n")
    assert "for good?" in refused.output
    assert b"Quillfeather" in nickname(folder)
    told = run(folder, "Does a warm", typed="y\n")
    assert "nicknames or notes of 1 trays" in told.output
    assert b"Quillfeather" not in nickname(folder)
    assert "Erased in 0 comparisons" in run(folder, "--due").output


@pytest.mark.parametrize(
    "words", [[], ["--card", "1A"], ["x", "--due"], ["--account", "Robin", "--due"]]
)
def test_exactly_one_thing_is_named(folder: Path, words: list[str]) -> None:
    assert run(folder, *words).exit_code == 2
