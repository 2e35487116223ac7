"""A budget for the tail: no file and no function of panel/ outgrows what one can read at once."""

import ast

from tests.structure.checkout import breaches, modules

LONGEST_FILE = 400
LONGEST_FUNCTION = 60


def oversize(path: str, text: str) -> list[str]:
    """Files and functions over budget, counted in lines as they stand (docstrings and all)."""
    lines = text.count("\n")
    found = [f"{lines} lines: split it by subject"] if lines > LONGEST_FILE else []
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            length = (node.end_lineno or node.lineno) - node.lineno + 1
            if length > LONGEST_FUNCTION:
                found.append(f"{node.name} has {length} lines")
    return found


def test_files_and_functions_keep_their_budget():
    assert breaches(oversize, modules()) == []


def test_too_long_a_file_is_seen():
    assert oversize("panel/x.py", "x = 1\n" * LONGEST_FILE) == []
    assert oversize("panel/x.py", "x = 1\n" * (LONGEST_FILE + 1)) != []


def test_too_long_a_function_is_seen():
    def function(body: int) -> str:
        return "class A:\n    def f(self):\n" + "        x = 1\n" * body

    assert oversize("panel/x.py", function(LONGEST_FUNCTION - 1)) == []
    assert oversize("panel/x.py", function(LONGEST_FUNCTION)) == ["f has 61 lines"]
