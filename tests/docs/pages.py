"""The pages of README, DEVELOPERS and docs as a reader meets them: links, headings, commands."""

import re
import shlex
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).parents[2]
PAGES = sorted(
    path.relative_to(ROOT).as_posix()
    for path in (*ROOT.glob("*.md"), *ROOT.glob("docs/**/*.md"), ROOT / "demo_event/README.md")
)
LINK = re.compile(r"\]\(([^)\s]+)\)|<img[^>]*\ssrc=\"([^\"]+)\"")
BLOCK = re.compile(r"^```(?:sh|shell|console)\n(.*?)^```", re.MULTILINE | re.DOTALL)
ANY_BLOCK = re.compile(r"^```.*?^```\n?", re.MULTILINE | re.DOTALL)
INLINE = re.compile(r"`([^`\n]+)`")
HEADING = re.compile(r"^#+ +(.+)$", re.MULTILINE)


def text(page: str) -> str:
    """What a page holds."""
    return (ROOT / page).read_text(encoding="utf-8")


def links(words: str) -> list[str]:
    """Targets of links and pictures."""
    return [one or other for one, other in LINK.findall(words)]


def broken(page: str, words: str) -> list[str]:
    """Relative links that lead nowhere: no such file, or no such heading in it."""
    return [
        link for link in links(words) if not re.match(r"[a-z]+:", link) and not _leads(page, link)
    ]


def _leads(page: str, link: str) -> bool:
    path, _, heading = link.partition("#")
    target = (ROOT / page).parent / path if path else ROOT / page
    if not target.exists():
        return False
    return not heading or heading in anchors(target.read_text(encoding="utf-8"))


def anchors(words: str) -> set[str]:
    """The names of a page's headings in links: lower case, hyphens for spaces."""
    plain = (re.sub(r"[^\w\- ]", "", one.lower()) for one in HEADING.findall(words))
    return {one.strip().replace(" ", "-") for one in plain}


def commands(words: str) -> Iterator[list[str]]:
    """The arguments of every `panel …` line in a block of commands."""
    for block in BLOCK.findall(words):
        yield from filter(None, map(_arguments, block.splitlines()))


def mentions(words: str) -> Iterator[list[str]]:
    """The arguments of every `panel …` within a sentence, where some may be left out."""
    yield from filter(None, map(_arguments, INLINE.findall(ANY_BLOCK.sub("", words))))


def _arguments(line: str) -> list[str]:
    if not re.match(r"(\.venv/bin/)?panel ", line):
        return []
    return shlex.split(line, comments=True)[1:]
