"""docs/verify.py, which knows nothing of this program: at most 48 lines of plain Python."""

import ast
import io
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

from panel.core.methods import METHODS
from panel.core.names import Helpers
from panel.services import show_result
from tests.publishing.packages import Files, unpacked, with_text
from tests.publishing.whole_event import place, whole_event

SCRIPT = Path(__file__).parents[2] / "docs" / "verify.py"
ALL_TRUE = ["seal True", "key True", "draw True", "right True"]


def verified(bundle: bytes, folder: Path, *seal: str) -> list[str]:
    """What the script prints, run alone and away from this program."""
    with zipfile.ZipFile(io.BytesIO(bundle)) as pack:
        pack.extractall(folder)
    command = [sys.executable, "-I", str(SCRIPT), str(folder), *seal]
    done = subprocess.run(command, capture_output=True, text=True, check=True, cwd=folder)
    return done.stdout.splitlines()


def test_it_is_short_and_alone():
    text = SCRIPT.read_text(encoding="utf-8")
    lines = text.splitlines()
    assert len(lines) <= 48
    assert max(map(len, lines)) <= 100
    tree = ast.parse(text)
    imported = {
        alias.name
        for node in ast.walk(tree)
        if isinstance(node, ast.Import)
        for alias in node.names
    }
    assert not any(isinstance(node, ast.ImportFrom) for node in ast.walk(tree))
    assert imported <= sys.stdlib_module_names


@pytest.mark.parametrize("method", METHODS)
def test_every_test_is_counted_again(method, tmp_path):
    (tmp_path / "x").mkdir()
    with place(tmp_path) as at:
        known = whole_event(at, method=method)
        made = show_result.public_bundle(at, known.slug)
    assert verified(made, tmp_path / "x") == ALL_TRUE


@pytest.mark.parametrize("helpers", [Helpers.ALONE, Helpers.THREE])
def test_every_way_of_dealing_is_dealt_again(helpers, tmp_path):
    (tmp_path / "x").mkdir()
    with place(tmp_path) as at:
        known = whole_event(at, helpers)
        made = show_result.public_bundle(at, known.slug)
    assert verified(made, tmp_path / "x") == ALL_TRUE


def test_a_seal_can_be_typed(bundle, files, tmp_path):
    digest = files["comparison.json"].decode().split('"digest": "')[1][:64]
    assert verified(bundle, tmp_path, digest[:4], digest[4:8])[0] == "seal True"
    assert verified(bundle, tmp_path, "0000")[0] == "seal False"


@pytest.mark.parametrize(
    ("name", "old", "new", "wrong"),
    [
        ("sealed.json", '"text":"4 2', '"text":"4 3', "seal"),
        ("plan.json", '"alpha": "0.05"', '"alpha": "0.10"', "key"),
        ("cups.csv", "\r\n1,1,", "\r\n1,1,9", "draw"),
        ("findings.json", '"correct": ', '"correct": 1', "right"),
    ],
)
def test_each_of_its_lines_can_be_false(files: Files, tmp_path, name, old, new, wrong):
    lines = verified(with_text(files, name, old, new), tmp_path)
    assert f"{wrong} False" in lines


def test_the_files_are_those_of_the_archive(bundle, tmp_path):
    verified(bundle, tmp_path)
    assert {path.name for path in tmp_path.iterdir()} == {
        name.split("/")[0] for name in unpacked(bundle)
    }
