"""docs/security.md is whole, up to date, and names tests that are there."""

import ast
from collections import Counter
from functools import cache
from pathlib import Path

import pytest

from tests.docs.security_page import CHAPTERS, PAGE, VERDICTS, Requirement, page, requirements

TESTS = Path(__file__).parents[1]
EVERY = requirements()
LAST = {
    1: ((1, 2), (2, 10), (3, 11), (4, 3), (5, 2)),
    2: ((1, 3), (2, 3), (3, 4), (4, 1)),
    3: ((2, 2), (3, 4), (4, 6), (5, 5), (7, 2)),
    4: ((1, 3), (2, 1), (3, 2), (4, 4)),
    5: ((1, 1), (2, 3), (3, 2), (4, 3)),
    6: ((1, 3), (2, 12), (3, 4), (4, 4), (5, 5), (6, 3), (8, 4)),
    7: ((1, 3), (2, 4), (3, 2), (4, 5), (5, 2), (6, 2)),
    8: ((1, 2), (2, 3), (3, 1), (4, 1)),
    9: ((1, 3), (2, 4)),
    10: ((1, 2), (2, 2), (3, 4), (4, 11), (5, 5), (6, 2), (7, 3)),
    11: ((1, 2), (2, 3), (3, 3), (4, 4), (5, 1), (6, 1)),
    12: ((1, 3), (2, 2), (3, 4)),
    13: ((1, 1), (2, 5), (3, 2), (4, 5)),
    14: ((1, 2), (2, 4), (3, 3)),
    15: ((1, 3), (2, 3), (3, 7)),
    16: ((1, 1), (2, 5), (3, 4), (4, 3), (5, 3)),
    17: ((1, 1), (2, 4), (3, 2)),
}
"""Chapter to its sections with the last requirement of level 1 or 2 (OWASP ASVS 5.0.0). In each
section they are numbered from 1 without a gap."""

OF_LEVEL = {1: 70, 2: 183}
"""How many requirements the standard has of each level."""

MORE = {"1.2.10", "3.4.7", "14.2.7", "14.2.8"}
"""Requirements of level 3 that matter here."""


def ids() -> set[str]:
    return {
        f"{chapter}.{section}.{number}"
        for chapter, sections in LAST.items()
        for section, last in sections
        for number in range(1, last + 1)
    }


@cache
def functions_in(path: str) -> frozenset[str]:
    """The tests at the top of a file, which pytest collects."""
    tree = ast.parse((TESTS / path).read_text(encoding="utf-8"))
    names = (node.name for node in tree.body if isinstance(node, ast.FunctionDef))
    return frozenset(name for name in names if name.startswith("test_"))


def unknown(one: Requirement) -> list[str]:
    """Tests that a requirement names and that are not there."""
    found = []
    for test in one.tests:
        path, _, name = test.partition("::")
        if not (TESTS / path).is_file() or name not in functions_in(path):
            found.append(test)
    return found


def test_every_requirement_of_levels_1_and_2_has_its_line() -> None:
    listed = [one.id for one in EVERY]
    assert len(set(listed)) == len(listed)
    assert ids() | MORE == set(listed)
    counted = Counter(one.level for one in EVERY)
    assert {level: counted[level] for level in OF_LEVEL} == OF_LEVEL
    assert {one.id for one in EVERY if one.level == 3} == MORE
    assert set(CHAPTERS) == {one.chapter for one in EVERY}


def test_every_line_says_whether_and_why() -> None:
    assert [one.id for one in EVERY if one.verdict not in VERDICTS or len(one.because) < 4] == []
    assert [one.id for one in EVERY if one.verdict == "not applicable" and one.tests] == []


def test_most_of_what_is_met_is_proved() -> None:
    """What has no test is met by this page itself, or by what is not there."""
    met = [one for one in EVERY if one.verdict == "met"]
    assert len([one for one in met if one.tests]) > 0.8 * len(met)


@pytest.mark.parametrize("one", EVERY, ids=lambda one: one.id)
def test_every_test_that_is_named_is_there(one: Requirement) -> None:
    assert unknown(one) == []


@pytest.mark.parametrize("test", ["web/test_nothing.py::test_a", "web/test_security.py::test_no"])
def test_a_test_that_is_not_there_is_seen(test: str) -> None:
    assert unknown(Requirement("1.1.1", 2, "met", "so it is", (test,))) == [test]


def test_the_page_is_up_to_date() -> None:
    assert PAGE.read_text(encoding="utf-8") == page(), (
        "run: .venv/bin/python -m tests.docs.security_page"
    )
