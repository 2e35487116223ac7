"""Who may import whom. pyproject.toml holds the contracts on chains; the doors are named here."""

import ast
import re
import subprocess
import sys
from pathlib import Path

import pytest

from tests.structure.checkout import ROOT, breaches, imports, modules, text_of

# Direct imports only. A room may always import itself; `app` builds the program and may see all.
MAY_IMPORT = {
    "app": {
        "settings",
        "catalogue",
        "web",
        "services",
        "publishing",
        "store",
        "printing",
        "scanning",
        "core",
    },
    "cli": {"app", "settings", "catalogue", "services", "core"},
    "web": {"settings", "catalogue", "services", "core"},
    "services": {"settings", "catalogue", "publishing", "store", "printing", "scanning", "core"},
    "publishing": {"printing", "core"},
    "store": {"core"},
    "printing": {"core"},
    "scanning": {"core"},
    "core": set(),
    "catalogue": {"core"},
    "settings": {"core"},  # its refusals are PanelErrors like all others
    "__main__": {"cli"},
}
NUMBERS = {"numpy", "scipy"}


def floor_of(path: str) -> str:
    """The room a file of panel/ belongs to: panel/store/base.py and panel/store.py are `store`."""
    return path.removesuffix(".py").split("/")[1]


def wrong_floor(path: str, text: str) -> list[str]:
    """Imports of a room that this file's room may not see."""
    room = floor_of(path)
    if room == "__init__":
        allowed = set()
    elif room in MAY_IMPORT:
        allowed = MAY_IMPORT[room] | {room}
    else:
        return [f"{room} has no floor yet: give it one here and in pyproject.toml"]
    found = []
    for line, name in imports(ast.parse(text)):
        if name.startswith("."):
            found.append(f"line {line}: write imports in full, from panel")
        elif re.match(r"panel\.", name):
            other = name.split(".")[1]
            if other not in allowed and other != "__version__":
                found.append(f"line {line}: {room} may not import {other}")
    return found


def not_standard(path: str, text: str) -> list[str]:
    """Imports from outside the standard library in a module of the core."""
    libraries = NUMBERS if path.startswith("panel/core/statistics/") else set()
    allowed = sys.stdlib_module_names | libraries | {"panel"}
    return [
        f"line {line}: {name} is no part of the standard library"
        for line, name in imports(ast.parse(text))
        if name.split(".")[0] not in allowed
    ]


def lint_imports(folder: Path) -> subprocess.CompletedProcess[str]:
    """Run the contracts of the pyproject.toml in a folder."""
    program = "import sys; from importlinter.cli import lint_imports; sys.exit(lint_imports())"
    command = [sys.executable, "-c", program]
    return subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False)


def test_every_module_imports_only_what_its_floor_may_see():
    assert breaches(wrong_floor, modules()) == []


def test_core_stands_on_the_standard_library():
    assert breaches(not_standard, modules("panel/core")) == []


def test_contracts_of_pyproject_hold():
    run = lint_imports(ROOT)
    assert run.returncode == 0, run.stdout + run.stderr


@pytest.mark.parametrize(
    ("path", "text", "complaint"),
    [
        ("panel/core/plan.py", "from panel.store import base", "core may not import store"),
        ("panel/web/x.py", "import panel.printing.kit", "web may not import printing"),
        ("panel/store/x.py", "from panel.scanning import reader", "store may not import scanning"),
        ("panel/settings.py", "from panel.store import base", "settings may not import store"),
        ("panel/cli/kit.py", "from panel.store import base", "cli may not import store"),
        ("panel/core/x.py", "from . import plan", "write imports in full"),
        ("panel/extras/x.py", "", "has no floor"),
    ],
)
def test_a_wrong_import_is_seen(path, text, complaint):
    assert complaint in " ".join(wrong_floor(path, text))


def test_a_library_in_the_core_is_seen():
    assert not_standard("panel/core/plan.py", "def f():\n    import flask") != []
    assert not_standard("panel/core/plan.py", "import numpy") != []
    assert not_standard("panel/core/statistics/power.py", "import numpy\nimport math") == []


@pytest.mark.parametrize(
    ("file", "text", "contract"),
    [
        ("core/x.py", "import panel.services", "arrows point down only"),
        ("printing/x.py", "import panel.store", "siblings never meet"),
        ("extras.py", "", "every module has a floor"),
        ("core/x.py", "import sqlalchemy", "No library but numpy and scipy"),
        ("core/paper/x.py", "import numpy", "numpy and scipy enter the core"),
        ("web/x.py", "import sqlalchemy", "Web never sees a row"),
    ],
)
def test_a_planted_breach_breaks_its_contract(tmp_path, file, text, contract):
    """The contracts of this very pyproject.toml, on an empty copy of the floors with one breach."""
    (tmp_path / "pyproject.toml").write_text(text_of("pyproject.toml"), encoding="utf-8")
    rooms = ["web", "services", "publishing", "store", "printing", "scanning", "core"]
    for room in ["", *rooms, "core/statistics", "core/paper"]:
        (tmp_path / "panel" / room).mkdir()
        (tmp_path / "panel" / room / "__init__.py").touch()
    (tmp_path / "panel/core/statistics/power.py").write_text("import numpy\n", encoding="utf-8")
    assert lint_imports(tmp_path).returncode == 0
    (tmp_path / "panel" / file).write_text(text + "\n", encoding="utf-8")
    run = lint_imports(tmp_path)
    assert run.returncode == 1
    broken = next(line for line in run.stdout.splitlines() if " BROKEN" in line)
    assert contract in broken
