"""The room's door: cheap to open, and the same names on all its lists."""

import ast
import inspect
import subprocess
import sys
from importlib import import_module
from pathlib import Path

import pytest

from panel.core import statistics

HEAVY = ("numpy", "scipy", "scipy.stats", "scipy.optimize")
TOP = Path(__file__).resolve().parents[3]


def loaded_by(program: str) -> set[str]:
    """Which heavy modules a fresh interpreter has after running a program."""
    program += "\nimport sys; print(*(name for name in sys.modules))"
    run = subprocess.run(
        [sys.executable, "-c", program], cwd=TOP, capture_output=True, text=True, check=True
    )
    return set(run.stdout.split()) & set(HEAVY)


@pytest.mark.parametrize(
    "program",
    [
        "import panel.core.statistics",
        "from panel.core.statistics import Interval, SimilarityLimit, CHANCE, MAX_TASTERS",
        "import panel.core.statistics.results, panel.core.statistics.inputs",
        "import panel.core.methods",
    ],
)
def test_neither_numpy_nor_scipy_until_a_function_is_used(program):
    assert loaded_by(program) == set()


def test_no_scipy_stats_for_anything():
    program = """
from decimal import Decimal as D
from panel.core import statistics as s
third, limit = s.CHANCE["triangle"], s.SimilarityLimit(s.pc_at_d_prime("triangle", D(2)), D("0.05"))
s.critical_number(30, third, D("0.05"))
s.plan_difference(third, D("0.05"), D("0.2"), s.pc_at_pd(third, D("0.3")))
s.plan_similarity(third, D("0.05"), limit)
s.power_curve(3, 60, third, D("0.05"), limit.pc)
s.smallest_detectable(30, third, D("0.05"), D("0.8"))
s.tally_count(20, 36, "triangle")
s.tally_count(20, 36, "triangle", limit=limit)
s.hand_tally_rows(third, D("0.05"))
s.compare_groups(9, 12, 3, 10, D("0.95"))
"""
    assert loaded_by(program) == {"numpy", "scipy"}


def names_for_type_checkers() -> dict[str, str]:
    """Name -> module under `if TYPE_CHECKING`."""
    tree = ast.parse(inspect.getsource(statistics))
    block = next(node for node in tree.body if isinstance(node, ast.If))
    return {
        alias.name: str(node.module).rpartition(".")[2]
        for node in block.body
        if isinstance(node, ast.ImportFrom)
        for alias in node.names
    }


def test_the_three_lists_agree():
    assert names_for_type_checkers() == statistics._MODULE
    assert sorted(statistics.__all__) == sorted(statistics._MODULE)


def test_every_name_is_what_its_module_holds():
    for name, module in statistics._MODULE.items():
        home = import_module(f"panel.core.statistics.{module}")
        assert getattr(statistics, name) is getattr(home, name)


def test_no_name_is_hidden_by_a_module():
    """A submodule, once loaded, becomes an attribute of the room under its own name."""
    folder = Path(inspect.getfile(statistics)).parent
    assert not {path.stem for path in folder.glob("*.py")} & set(statistics._MODULE)


def test_a_name_that_is_not_there():
    with pytest.raises(AttributeError, match="no attribute 'mean'"):
        _ = statistics.mean
    assert "tally_count" in dir(statistics)


def test_public_functions_say_what_they_do():
    for name in statistics.__all__:
        value = getattr(statistics, name)
        if inspect.isfunction(value):
            assert value.__doc__, name
