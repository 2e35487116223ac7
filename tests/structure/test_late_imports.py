"""No import of `panel` inside a function: late imports of ourselves are how circles begin.

A room's door (`__init__.py` of the rooms below) may do it, to keep heavy libraries out of start-up.
Other libraries may be imported late anywhere.
"""

import ast

import pytest

from tests.structure.checkout import breaches, imports, modules

DOORS = {
    f"panel/{room}/__init__.py"
    for room in ("printing", "scanning", "publishing", "core/statistics")
}
FUNCTIONS = (ast.FunctionDef, ast.AsyncFunctionDef, ast.Lambda)


def late_imports(path: str, text: str) -> list[str]:
    """Imports of panel, by statement or by import_module, inside functions."""
    if path in DOORS:
        return []
    lines = set()
    for function in ast.walk(ast.parse(text)):
        if isinstance(function, FUNCTIONS):
            lines |= {n for n, name in imports(function) if name.split(".")[0] in ("panel", "")}
            lines |= {call.lineno for call in ast.walk(function) if imports_panel(call)}
    return [f"line {line}: import of panel inside a function" for line in sorted(lines)]


def imports_panel(node: ast.AST) -> bool:
    """`import_module("panel…")` and `__import__("panel…")`, however they are reached."""
    if not isinstance(node, ast.Call) or not node.args:
        return False
    name = node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
    first = node.args[0]
    named = first.value if isinstance(first, ast.Constant) else None
    late = name in ("import_module", "__import__")
    return late and isinstance(named, str) and named.split(".")[0] in ("panel", "")


def test_panel_is_imported_at_the_top():
    assert breaches(late_imports, modules()) == []


@pytest.mark.parametrize(
    "text",
    [
        "def f():\n    from panel.core import plan",
        "def f():\n    import panel.core.plan",
        "async def f():\n    def g():\n        from . import plan",
        "class A:\n    def f(self):\n        importlib.import_module('panel.core.plan')",
    ],
)
def test_a_late_import_is_seen(text):
    assert late_imports("panel/services/tally.py", text) != []
    assert late_imports("panel/printing/__init__.py", text) == []


def test_other_libraries_may_come_late():
    assert late_imports("panel/scanning/pages.py", "def f():\n    import pypdfium2") == []
