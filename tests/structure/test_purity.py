"""The core takes time, chance and settings as arguments and touches no file."""

import ast
import re

import pytest

from tests.structure.checkout import breaches, modules, text_of

# Modules whose only use is a clock, chance, the environment, a file or another process.
BANNED_MODULES = {
    "asyncio", "glob", "io", "logging", "multiprocessing", "os", "pathlib", "random", "secrets",
    "shelve", "shutil", "signal", "socket", "sqlite3", "subprocess", "sys", "tempfile",
    "threading", "time", "urllib", "uuid",
}  # fmt: skip
BANNED_CALLS = {"open", "input", "print", "exec", "eval", "breakpoint"}
# The last two parts of a dotted call: the class or module, and the function.
BANNED_ENDINGS = {
    "datetime.now", "datetime.utcnow", "datetime.today", "date.today", "resources.files",
}  # fmt: skip
SEEDED = {"Generator", "PCG64", "Philox", "SeedSequence", "default_rng"}


def impurities(path: str, text: str) -> list[str]:
    """Clocks, unseeded chance, environment and files in a module of the core."""
    found = []
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            names = [node.module or ""]
        else:
            names = []
        found += [(node, f"import {name}") for name in names if is_banned(name)]
        if isinstance(node, ast.Call) and (complaint := impure_call(node)):
            found.append((node, complaint))
    return [f"line {node.lineno}: {complaint}" for node, complaint in found]


def is_banned(name: str) -> bool:
    return name.split(".")[0] in BANNED_MODULES or name == "importlib.resources"


def impure_call(call: ast.Call) -> str | None:
    """What is wrong with a call, or None."""
    name = ast.unparse(call.func)
    parts = name.split(".")
    keywords = {keyword.arg for keyword in call.keywords}
    if name in BANNED_CALLS or ".".join(parts[-2:]) in BANNED_ENDINGS:
        return f"call of {name}"
    if re.search(r"\brandom\.\w+$", name) and parts[-1] not in SEEDED:
        return f"{name} draws from a hidden global state"
    if parts[-1] in SEEDED and not call.args and not keywords:
        return f"{name} without a seed"
    if parts[-1] == "rvs" and not keywords & {"random_state", "rng"}:
        return f"{name} without a generator"
    return None


def test_core_is_pure():
    assert modules("panel/core") != []
    assert breaches(impurities, modules("panel/core")) == []


@pytest.mark.parametrize(
    "text",
    [
        "import time",
        "from os import environ",
        "import os.path",
        "from pathlib import Path",
        "import secrets",
        "from random import shuffle",
        "from importlib.resources import files",
        "def f():\n    return datetime.now(UTC)",
        "def f():\n    return datetime.datetime.utcnow()",
        "def f():\n    return date.today()",
        "def f():\n    return open('a').read()",
        "rng = numpy.random.default_rng()",
        "x = np.random.normal(3)",
        "x = stats.norm.rvs(size=3)",
        "print('hello')",
    ],
)
def test_an_impurity_is_seen(text):
    assert impurities("panel/core/plan.py", text) != []


@pytest.mark.parametrize(
    "text",
    [
        "from datetime import datetime\ndef f(now: datetime): return now.date()",
        "rng = numpy.random.default_rng(seed)",
        "x = rng.normal(3)",
        "x = norm.rvs(size=3, random_state=rng)",
        "import hashlib, hmac, math",
    ],
)
def test_what_is_pure_passes(text):
    assert impurities("panel/core/plan.py", text) == []


def test_the_law_stands_at_the_door():
    """The docstring of the core says what this file enforces."""
    door = text_of("panel/core/__init__.py")
    assert "no clock" in door
    assert "no files" in door
