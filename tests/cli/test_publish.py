"""`panel publish`: the folder, and where it belongs for good."""

from pathlib import Path

import pytest
from click.testing import CliRunner

from panel.cli import panel
from panel.cli.check import DOES_NOT_HOLD
from tests.builders import Clock, workplace
from tests.publishing.whole_event import whole_event
from tests.thrift import lay_schema


def test_the_folder_is_told_where_it_stays(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A lasting address set for the installation stands in page, report and bundle alike, so the
    folder still is what the bundle makes."""
    instance = tmp_path / "instance"
    database = f"sqlite:///{tmp_path / 'panel.db'}"
    lay_schema(database)
    with workplace(database, instance, clock=Clock()) as at:
        known = whole_event(at)
    monkeypatch.setenv("PANEL_DATABASE_URL", database)
    monkeypatch.setenv("PANEL_LASTING_ADDRESS", "https://guild.example/results")
    out = tmp_path / "result"
    arguments = ["publish", known.id, "--out", str(out), "--instance", str(instance)]
    done = CliRunner().invoke(panel, arguments)
    assert done.exit_code == 0, done.output
    assert f"https://guild.example/results/{known.slug}/" in done.output
    assert f"https://guild.example/results/{known.slug}/" in (out / "index.html").read_text()
    checked = CliRunner().invoke(panel, ["check", str(out)])
    assert checked.exit_code == 0, checked.output
    assert "13 files beside the bundle are what the bundle makes" in checked.output
    for name in ("report.pdf", "picture.png"):
        (out / name).write_bytes((out / name).read_bytes() + b"\n")
    wrong = CliRunner().invoke(panel, ["check", str(out)])
    assert wrong.exit_code == DOES_NOT_HOLD
    for name in ("report.pdf", "picture.png"):
        assert f"{name} is not what the bundle makes" in wrong.output
