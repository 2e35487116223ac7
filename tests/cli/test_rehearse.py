"""`panel rehearse`: an evening to try; the installation stays as it was."""

import os
import signal
import subprocess
import sys
import tempfile
import urllib.request
from pathlib import Path

from click.testing import CliRunner

from panel.cli import panel
from panel.services import plan_comparison
from panel.services.workplace import open_workplace
from panel.settings import load
from panel.store import records
from tests.builders import ORGANISER, draft, sitting_draft
from tests.structure.checkout import ROOT


def test_the_command_serves_it_and_keeps_nothing(tmp_path):
    instance, scratch = tmp_path / "instance", tmp_path / "scratch"
    instance.mkdir()
    scratch.mkdir()
    at = open_workplace(load({}, instance))
    known = plan_comparison.start_draft(at, ORGANISER, draft(), sitting_draft())
    with at.units.read() as session:
        before = list(records.of_chain(session, known.id))
    kept = {name: word for name, word in os.environ.items() if not name.startswith("PANEL_")}
    service = subprocess.Popen(
        [sys.executable, "-u", "-m", "panel", "rehearse", known.id, "--port", "0",
         "--instance", str(instance)],
        cwd=ROOT, env={**kept, "TMPDIR": str(scratch)}, stdout=subprocess.PIPE, text=True,
    )  # fmt: skip
    assert service.stdout is not None
    try:
        said = []
        while not (said and said[-1].startswith("Stop it with Ctrl-C")):
            said.append(service.stdout.readline())
            assert said[-1], "".join(said)
        told = "".join(said)
        assert f"A rehearsal of: {known.title}" in told
        here = told.partition("Panel is ready at ")[2].split()[0]
        with urllib.request.urlopen(here) as answer:
            assert "Rehearsal" in answer.read().decode()
        assert any(scratch.iterdir())
        service.send_signal(signal.SIGTERM)
        assert "Nothing of it was kept" in service.stdout.read()
        assert service.wait(30) == 0
    finally:
        service.kill()
        service.wait(30)
        service.stdout.close()
    assert list(scratch.iterdir()) == []
    assert [one.id for one in plan_comparison.every(at, ORGANISER)] == [known.id]
    with at.units.read() as session:
        assert list(records.of_chain(session, known.id)) == before
    at.units.close()


def test_a_name_that_is_not_there_is_said_before_anything_is_made(tmp_path, monkeypatch):
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    (tmp_path / "instance").mkdir()
    done = CliRunner().invoke(
        panel, ["rehearse", "nothing", "--instance", str(tmp_path / "instance")]
    )
    assert done.exit_code != 0
    assert "names no single comparison" in str(done.exception)
    assert [one.name for one in Path(tmp_path).iterdir()] == ["instance"]
