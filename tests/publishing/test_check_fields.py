"""Each class of field of each file of a bundle, changed alone with every hash made to fit."""

import copy
import csv
import io
import json
from collections.abc import Iterator
from functools import lru_cache
from typing import Any

import pytest

from panel.core import position, statistics
from panel.core.errors import PanelError
from panel.services import check_published
from tests.publishing.packages import DESCRIPTOR, Files, with_file

Change = tuple[str, bytes]
"""The class of field, and the whole file with one of them changed."""

BEYOND_CHECKING = {
    "ballots.csv words",  # what a taster wrote stands nowhere else
    "comparison.json software",  # of another version sentences may differ: the check says so
    "comparison.json address",  # where it stands for good: the folder beside it says the same
    "comparison.json language",  # unknown ones are spoken as English; other sentences are refused
}


@pytest.fixture
def counted_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Six hundred bundles hold the same few counts: what follows from a count is worked out once.

    Pure functions of plain numbers, kept by value and kind; another count is worked out anew.
    """
    counting = [(statistics, name) for name in statistics.__all__]
    for room, name in [*counting, (position, "_p_value")]:
        known = getattr(room, name)
        if callable(known) and not isinstance(known, type):
            monkeypatch.setattr(room, name, lru_cache(maxsize=None, typed=True)(known))


def noticed(files: Files, name: str, content: bytes) -> bool:
    try:
        lines = check_published.check(with_file(files, name, content))
    except PanelError:
        return True
    return any(not line.holds and str(line.message) for line in lines)


def other(value: Any) -> Any:
    if isinstance(value, bool):
        return not value
    if isinstance(value, int | float):
        return value + 1
    if isinstance(value, list):
        return value[:-1] or ["x"]
    if isinstance(value, dict):
        return {**value, "x": 1}
    return f"{value or ''}x"


def inside(value: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[tuple[Any, ...], Any]]:
    parts: list[tuple[Any, Any]] = []
    if isinstance(value, dict):
        parts = list(value.items())
    elif isinstance(value, list):
        parts = list(enumerate(value))
    for name, part in parts:
        yield from inside(part, (*path, name))
    if path:
        yield path, value


def in_json(name: str, content: bytes, ids: set[str]) -> Iterator[Change]:
    words = json.loads(content)
    seen = set()
    for path, value in inside(words):
        parts = ("#" if isinstance(p, int) or p in ids or p.isdecimal() else p for p in path)
        kind = ".".join(parts)
        if kind in seen:
            continue
        seen.add(kind)
        changed = copy.deepcopy(words)
        at = changed
        for step in path[:-1]:
            at = at[step]
        at[path[-1]] = other(value)
        text = json.dumps(changed, ensure_ascii=False, indent=2) + "\n"
        yield f"{name} {kind}", text.encode()


def in_table(name: str, content: bytes) -> Iterator[Change]:
    rows = list(csv.reader(io.StringIO(content.decode(), newline="")))
    flipped = {"true": "false", "false": "true"}
    for at, column in enumerate(rows[0]):
        changed = [list(row) for row in rows]
        changed[-1][at] = flipped.get(rows[-1][at], rows[-1][at] + "1")
        yield f"{name} {column}", written(changed)
    yield f"{name} a row less", written(rows[:-1])
    yield f"{name} a row twice", written([*rows, rows[-1]])


def written(rows: list[list[str]]) -> bytes:
    text = io.StringIO(newline="")
    csv.writer(text, lineterminator="\r\n").writerows(rows)
    return text.getvalue().encode()


def changes(files: Files) -> Iterator[tuple[str, Change]]:
    ids = {one["id"] for one in json.loads(files["comparison.json"])["sittings"]}
    for name, content in files.items():
        if name == DESCRIPTOR:
            continue  # test_check has its own: nothing else can be made to fit then
        if name.endswith(".json"):
            made = in_json(name, content, ids)
        elif name.endswith(".csv"):
            made = in_table(name, content)
        else:
            made = iter([(f"{name} a line more", content + b"believe me\n")])
        yield from ((name, change) for change in made)


@pytest.mark.usefixtures("counted_once")
def test_every_class_of_field_is_looked_at(files: Files) -> None:
    every = list(changes(files))
    missed = {kind for name, (kind, content) in every if not noticed(files, name, content)}
    assert len(every) > 500
    assert missed == BEYOND_CHECKING
