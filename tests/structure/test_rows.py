"""Rows have columns, keys and constraints, and no rules: those live in the core."""

import ast

from tests.structure.checkout import breaches, tracked


def behaviour(path: str, text: str) -> list[str]:
    """Functions and lambdas inside the classes of a module of rows."""
    return [
        f"line {inside.lineno}: {row.name} has behaviour"
        for row in ast.walk(ast.parse(text))
        if isinstance(row, ast.ClassDef)
        for inside in ast.walk(row)
        if isinstance(inside, ast.FunctionDef | ast.AsyncFunctionDef | ast.Lambda)
    ]


def row_modules() -> list[str]:
    return [path for path in tracked("panel/store") if path.startswith("panel/store/tables_")]


def test_rows_have_no_methods():
    assert breaches(behaviour, row_modules()) == []


def test_a_method_on_a_row_is_seen():
    row = "class Tray(Base):\n    number: Mapped[int]\n"
    assert behaviour("panel/store/tables_tray.py", row) == []
    assert behaviour("panel/store/tables_tray.py", row + "    def next(self): ...\n") != []
    lazy = "    made: Mapped[int] = mapped_column(default=lambda: 1)\n"
    assert behaviour("panel/store/tables_tray.py", row + lazy) != []
