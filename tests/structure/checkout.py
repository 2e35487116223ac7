"""The files of this checkout, as the laws in this folder read them."""

import ast
import subprocess
from collections.abc import Callable, Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]

Law = Callable[[str, str], list[str]]


def tracked(under: str = ".") -> list[str]:
    """Paths under version control and still there, relative to the top, with forward slashes."""
    listed = subprocess.run(
        ["git", "ls-files", "-z", "--", under], cwd=ROOT, capture_output=True, text=True, check=True
    )
    return [path for path in listed.stdout.split("\0") if path and (ROOT / path).is_file()]


def modules(under: str = "panel") -> list[str]:
    """Tracked Python files under a folder."""
    return [path for path in tracked(under) if path.endswith(".py")]


def text_of(path: str) -> str:
    """The text of a tracked file."""
    return (ROOT / path).read_text(encoding="utf-8")


def breaches(law: Law, paths: list[str]) -> list[str]:
    """Apply a law, (path, text) -> complaints, to files; each complaint names its file."""
    return [f"{path}: {complaint}" for path in paths for complaint in law(path, text_of(path))]


def imports(tree: ast.AST) -> Iterator[tuple[int, str]]:
    """(line, dotted name) of every import anywhere in a module, `from` parts joined."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from ((node.lineno, alias.name) for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.level:
            yield node.lineno, "." * node.level + (node.module or "")
        elif isinstance(node, ast.ImportFrom):
            yield from ((node.lineno, f"{node.module}.{alias.name}") for alias in node.names)
