"""Words that no tracked file may hold: unfinished work, paths of one machine, registries."""

import re

import pytest

from tests.structure.checkout import ROOT, breaches, tracked

# Patterns are written in pieces so that this file does not accuse itself.
UNFINISHED = re.compile(r"\b(TO" r"DO|FIX" r"ME|XX" r"X)\b")
MACHINE = re.compile(
    r"(?<![\w.$}~<>/:-])/(?:work|root|tmp|Users|home/\w+)(?=[/\s`\"')\]]|$)"
    r"|\b[A-Z]:\\\\?Users\b"
)
REGISTRY = re.compile(
    r"\b(?:py" r"pi\.org|pythonhosted\.org|npm" r"js\.org|deb\.debian\.org|crates\.io)\b"
)


def forbidden_words(path: str, text: str) -> list[str]:
    """Unfinished work, absolute machine paths and registry hosts, each with its line."""
    return [
        f"line {number}: {match.group()!r}"
        for number, line in enumerate(text.splitlines(), 1)
        for pattern in (UNFINISHED, MACHINE, REGISTRY)
        for match in pattern.finditer(line)
    ]


def readable() -> list[str]:
    """Tracked files that are text."""
    return [path for path in tracked() if b"\0" not in (ROOT / path).read_bytes()]


def test_no_file_holds_a_forbidden_word():
    assert breaches(forbidden_words, readable()) == []


@pytest.mark.parametrize(
    "text",
    [
        "# TODO: later",
        "x = 1  # FIXME",
        "open('/root/x')",
        'path = "/work/main"',
        "see /tmp/x.pdf",
        "/home/anna/panel",
        r"C:\Us" r"ers\anna",
        "https://pypi.org/simple",
    ],
)
def test_a_forbidden_word_is_seen(text):
    assert forbidden_words("docs/a.md", text) != []


@pytest.mark.parametrize(
    "text",
    ["beer and/or work", "panel/work.py", "the root of the tree", "https://example.org/tmp/x"],
)
def test_an_innocent_word_passes(text):
    assert forbidden_words("docs/a.md", text) == []
