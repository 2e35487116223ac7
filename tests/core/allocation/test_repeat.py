"""docs/draw.py, which knows nothing of this program, repeats its draws; docs/draw.md is true."""

import ast
import json
import re
import subprocess
import sys
from itertools import combinations, permutations
from pathlib import Path
from typing import Any

import pytest

from panel.core.allocation.codes import POOL
from panel.core.allocation.incomplete_blocks import block_design
from panel.core.allocation.trays import DrawnTray, draw_sitting
from panel.core.allocation.williams import williams_orders

DOCS = Path(__file__).parents[3] / "docs"
SCRIPT = DOCS / "draw.py"
TRIANGLE = ["AAB", "ABA", "BAA", "BBA", "BAB", "ABB"]
DUO_TRIO = ["AAB", "ABA", "BAB", "BBA"]
FIVES = [
    "".join("A" if at in pair else "B" for at in range(5)) for pair in combinations(range(5), 2)
]
FOUR_BEERS = ["".join(order) for order in permutations("ABCD")]

USUAL: dict[str, Any] = {
    "secret": bytes(range(32)).hex(),
    "sitting": "s1",
    "first_number": 1,
    "orders": TRIANGLE,
    "planned": 24,
    "wave_size": 6,
    "one_shuffle": False,
    "independent": False,
    "excluded_codes": [],
    "spare_factor": 2,
}


def repeated(facts: dict[str, Any]) -> str:
    """What the script prints for these facts, run alone and away from this program."""
    command = [sys.executable, "-I", str(SCRIPT)]
    done = subprocess.run(
        command, input=json.dumps(facts), capture_output=True, text=True, check=True
    )
    return done.stdout


def drawn(facts: dict[str, Any]) -> str:
    draw = draw_sitting(
        bytes.fromhex(facts["secret"]),
        facts["sitting"],
        facts["first_number"],
        facts["orders"],
        facts["planned"],
        facts["wave_size"],
        facts["one_shuffle"],
        facts["excluded_codes"],
        facts["spare_factor"],
        independent=facts["independent"],
        split=facts.get("split", False),
    )
    lines = ((tray.number, tray.order, *tray.codes(), *_known(tray)) for tray in draw.trays)
    return "".join(" ".join(map(str, line)) + "\n" for line in lines)


def _known(tray: DrawnTray) -> list[str]:
    return ["informed"] if tray.informed else []


@pytest.mark.parametrize(
    "other",
    [
        {},
        {"secret": "ff" * 32, "sitting": "jänner-2", "first_number": 301},
        {"planned": 8},
        {"planned": 1, "spare_factor": 1},
        {"orders": DUO_TRIO, "planned": 23, "wave_size": 12},
        {"orders": FIVES, "planned": 31, "spare_factor": 3},
        {"orders": FOUR_BEERS, "planned": 17, "wave_size": 12},
        {"orders": list(williams_orders(5)), "planned": 14},
        {"orders": list(block_design(7, 3).orders), "planned": 16, "one_shuffle": True},
        {"one_shuffle": True, "planned": 29},
        {"one_shuffle": True, "planned": 10, "spare_factor": 1},
        {"independent": True, "planned": 20},
        {"planned": 210, "wave_size": 12},
        {"excluded_codes": list(POOL[40:])},
        {"excluded_codes": ["420", "137", "666"], "orders": ["AB", "BA"]},
        {"split": True},
        {"split": True, "planned": 23, "orders": DUO_TRIO, "wave_size": 12},
        {"split": True, "planned": 29, "one_shuffle": True, "orders": FIVES},
        {"split": True, "planned": 3, "spare_factor": 1},
    ],
    ids=lambda other: ", ".join(other) or "usual",
)
def test_the_script_repeats_the_draw(other: dict[str, Any]) -> None:
    facts = {**USUAL, **other}
    lines = repeated(facts)
    assert lines == drawn(facts)
    assert len(lines.splitlines()) == facts["planned"] * facts["spare_factor"]


def test_the_script_is_short_and_alone() -> None:
    """40 lines at most besides its title and its imports, all of them from the library."""
    source = SCRIPT.read_text(encoding="utf-8")
    body = ast.parse(source).body
    imports = [node for node in ast.walk(ast.parse(source)) if isinstance(node, ast.Import)]
    assert not [node for node in ast.walk(ast.parse(source)) if isinstance(node, ast.ImportFrom)]
    assert {name.name for node in imports for name in node.names} <= sys.stdlib_module_names
    after = source.splitlines()[body[len(imports)].end_lineno :]
    assert len([line for line in after if line.strip()]) <= 40


def test_the_example_in_the_documentation_is_true() -> None:
    blocks = re.findall(r"```(\w+)\n(.*?)```", (DOCS / "draw.md").read_text("utf-8"), re.DOTALL)
    (facts,) = [json.loads(text) for kind, text in blocks if kind == "json"]
    (printed,) = [text for kind, text in blocks if kind == "text"]
    assert repeated(facts) == drawn(facts) == printed
