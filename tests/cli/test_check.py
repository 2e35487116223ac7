"""panel check: a line for each item, exit status 0 only if everything holds."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from panel.cli import panel
from panel.cli.check import DOES_NOT_HOLD
from panel.core.errors import PanelError
from panel.services import show_result
from tests.builders import ORGANISER
from tests.publishing.packages import unpacked, with_text
from tests.publishing.whole_event import place, whole_event


@pytest.fixture(scope="module")
def published(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A published folder."""
    folder = tmp_path_factory.mktemp("published")
    with place(folder) as at:
        known = whole_event(at)
        show_result.publish_static(at, ORGANISER, known.id, folder / "result")
    return folder / "result"


def test_what_holds_ends_well(published: Path) -> None:
    done = CliRunner().invoke(panel, ["check", str(published)])
    assert done.exit_code == 0
    lines = done.output.splitlines()
    assert all(line.startswith("holds  ") for line in lines[:-1])
    assert lines[-1].startswith("Everything holds. That the seal was shown")


def test_the_zip_and_a_seal(published: Path) -> None:
    bundle = published / "bundle.zip"
    digest = json.loads((published / "findings.json").read_bytes())["seal"]["digest"]
    done = CliRunner().invoke(panel, ["check", str(bundle), "--seal", digest[:8]])
    assert done.exit_code == 0
    assert done.output.rstrip().endswith("the seal is the one you typed.")
    other = CliRunner().invoke(panel, ["check", str(bundle), "--seal", "00000000"])
    assert other.exit_code == DOES_NOT_HOLD
    assert "WRONG  poster: The seal you typed is not this bundle's" in other.output


def test_what_is_wrong_is_said_and_counted(published: Path, tmp_path: Path) -> None:
    files = unpacked((published / "bundle.zip").read_bytes())
    bad = tmp_path / "bad.zip"
    bad.write_bytes(with_text(files, "findings.json", '"correct": ', '"correct": 1'))
    done = CliRunner().invoke(panel, ["check", str(bad), "--json"])
    assert done.exit_code == DOES_NOT_HOLD
    words = json.loads(done.output)
    assert words["holds"] is False
    (line,) = [one for one in words["lines"] if not one["holds"]]
    assert line["item"] == "findings"
    assert "counted anew it is" in line["message"]
    plain = CliRunner().invoke(panel, ["check", str(bad)])
    assert "1 of " in plain.output.splitlines()[-1]


def test_what_is_no_bundle_is_refused_in_one_sentence(tmp_path: Path) -> None:
    letter = tmp_path / "letter.zip"
    letter.write_text("dear", encoding="utf-8")
    done = CliRunner().invoke(panel, ["check", str(letter)])
    assert isinstance(done.exception, PanelError)
    assert done.exception.code == "bundle-damaged"
