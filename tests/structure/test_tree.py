"""What lies where: a short top level, names that say something, data that gets installed."""

import tomllib
from pathlib import PurePosixPath

import pytest

from tests.structure.checkout import text_of, tracked

TOP = {
    "README.md", "DEVELOPERS.md", "LICENSE", "pyproject.toml",
    "panel", "instance", "tests", "docs", "demo_event",
}  # fmt: skip
EMPTY_WORDS = {"util", "helper", "misc", "common", "manager"}


def strangers(paths: list[str]) -> set[str]:
    """Entries of the top level that have no place there; dot-files are the tools' own."""
    top = {path.split("/")[0] for path in paths}
    return {name for name in top if name not in TOP and not name.startswith(".")}


def empty_names(paths: list[str]) -> list[str]:
    """Files and folders whose name says only that something had to go somewhere."""
    return [path for path in paths if any(says_nothing(part) for part in path.split("/"))]


def says_nothing(part: str) -> bool:
    words = part.lower().split(".")[0].replace("-", "_").split("_")
    return any(word in EMPTY_WORDS or word.removesuffix("s") in EMPTY_WORDS for word in words)


def left_behind(paths: list[str], patterns: list[str]) -> list[str]:
    """Files of panel/ that an installed copy would lack: neither Python nor matched by patterns."""
    return [
        path
        for path in paths
        if not path.endswith(".py")
        and not any(PurePosixPath(path).match(pattern) for pattern in patterns)
    ]


def doorless(paths: list[str]) -> set[str]:
    """Folders of modules without an `__init__.py`: setuptools would leave them behind."""
    folders = {path.rpartition("/")[0] for path in paths if path.endswith(".py")}
    return {folder for folder in folders if f"{folder}/__init__.py" not in paths}


def test_top_level_is_short():
    assert strangers(tracked()) == set()


@pytest.mark.parametrize("name", sorted(TOP - {"demo_event"}))
def test_top_level_is_whole(name):
    assert any(path.split("/")[0] == name for path in tracked())


def test_names_say_something():
    assert empty_names(tracked()) == []


def test_what_the_package_needs_is_installed_with_it():
    setup = tomllib.loads(text_of("pyproject.toml"))["tool"]["setuptools"]
    assert left_behind(tracked("panel"), setup["package-data"]["panel"]) == []


def test_every_folder_of_modules_has_a_door():
    assert doorless(tracked("panel")) == set()


def test_a_missing_door_is_seen():
    assert doorless(["panel/a/__init__.py", "panel/a/b.py", "panel/c/d.py"]) == {"panel/c"}


def test_a_stranger_is_seen():
    assert strangers(["README.md", ".ci/run", "panel/x.py", "scripts/go"]) == {"scripts"}


@pytest.mark.parametrize(
    "path", ["panel/utils.py", "panel/web/form_helpers.py", "tests/common/a.py", "docs/misc.md"]
)
def test_an_empty_name_is_seen(path):
    assert empty_names([path]) == [path]


def test_a_file_left_behind_is_seen():
    patterns = ["**/*.css", "py.typed"]
    there = ["panel/py.typed", "panel/app.py", "panel/web/static/page.css"]
    assert left_behind([*there, "panel/web/static/a.woff"], patterns) == ["panel/web/static/a.woff"]
