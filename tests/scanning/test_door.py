"""The room's door: lazy, and its three lists of names agree."""

import ast
import subprocess
import sys
from pathlib import Path

import panel.scanning as door


def test_importing_the_room_loads_no_library():
    program = (
        "import sys, panel.scanning; "
        "print([m for m in ('numpy', 'scipy', 'PIL', 'zxingcpp', 'pypdfium2') if m in sys.modules])"
    )
    run = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=True
    )
    assert run.stdout.strip() == "[]"


def test_the_lists_of_names_agree():
    tree = ast.parse(Path(door.__file__).read_text(encoding="utf-8"))
    typed = {
        (node.module.rpartition(".")[2], name.name)
        for node in ast.walk(tree)
        if isinstance(node, ast.ImportFrom) and node.module and node.module.startswith("panel.")
        for name in node.names
    }
    assert typed == {(module, name) for name, module in door._MODULE.items()}
    assert sorted(door.__all__) == dir(door)
    for name in door.__all__:
        assert getattr(door, name) is not None


def test_an_unknown_name_is_refused():
    assert not hasattr(door, "guess")


def test_no_name_is_that_of_a_module():
    """Whoever imports such a module first would find it in the name's place."""
    assert set(door._MODULE) & set(door._MODULE.values()) == set()
