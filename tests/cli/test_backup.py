"""`panel backup` and `panel restore` as they are typed."""

import shutil
from pathlib import Path

from click.testing import CliRunner, Result

from panel.cli import panel
from panel.store.instance_key import FILE
from tests.builders import serving, workplace


def run(*words: str | Path) -> Result:
    return CliRunner().invoke(panel, [str(word) for word in words])


def test_a_backup_goes_into_a_new_installation(tmp_path: Path) -> None:
    old, new, out = tmp_path / "old", tmp_path / "new", tmp_path / "evening.zip"
    with workplace(f"sqlite:///{(tmp_path / 'old' / 'panel.db').as_posix()}", old) as at:
        serving(at)
    new.mkdir()
    told = run("backup", "--instance", old, "--out", out)
    assert told.exit_code == 0
    assert "instance.key is not in it" in told.output
    told = run("restore", out, "--instance", new)
    assert told.exit_code == 0, told.output
    assert "1 records, all whole" in told.output
    assert "does not hold the instance.key" in told.output
    refused = run("backup", "--instance", new, "--out", tmp_path / "again.zip")
    assert "another instance.key" in str(refused.exception)
    shutil.copy(old / FILE, new / FILE)
    told = run("restore", out, "--instance", new, "--replace")
    assert "What was there before is" in told.output
    assert "Mind:" not in told.output
    assert run("backup", "--instance", new, "--out", tmp_path / "again.zip").exit_code == 0
