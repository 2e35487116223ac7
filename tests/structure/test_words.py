"""Words that no tracked file may hold: unfinished work, paths of one machine, registries."""

import re

import pytest

from tests.structure.checkout import ROOT, breaches, tracked

# Patterns and samples are written so that this file does not accuse itself.
UNFINISHED = re.compile(r"\b(TO[D]O|FIX[M]E|XX[X])\b")
MACHINE = re.compile(
    r"(?<![\w.$}~<>/:-])/(?:work|root|tmp|Users|home/\w+)(?=[/\s`\"')\]]|$)"
    r"|\b[A-Z]:\\{1,2}Users\b"
)
REGISTRY = re.compile(r"\b(?:py[p]i|pythonhosted|npm[j]s|deb\.debian|crates)\.(?:org|io)\b")


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
        "# TO~DO: later",
        "x = 1  # FIX~ME",
        "open('/ro~ot/x')",
        'path = "/wo~rk/main"',
        "see /tm~p/x.pdf",
        "kept in /tm~p",
        "/ho~me/anna/panel",
        r"C:\Us~ers\anna",
        "https://py~pi.org/simple",
        "https://files.python~hosted.org/",
    ],
)
def test_a_forbidden_word_is_seen(text):
    assert forbidden_words("docs/a.md", text.replace("~", "")) != []


@pytest.mark.parametrize(
    "text",
    ["beer and/or work", "panel/work.py", "the root of the tree", "https://example.org/tmp/x"],
)
def test_an_innocent_word_passes(text):
    assert forbidden_words("docs/a.md", text) == []
