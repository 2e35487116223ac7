"""Reading a file in a process of its own, with limits on time and memory.

A file from anybody may be made to burst: a picture of a few kilobytes that unfolds to gigabytes, a
page that takes an hour to draw. That process ends then, the service goes on. It is given the bytes
and, code by code, the cards they may belong to; it has no database, no key and no settings.
"""

import json
import os
import pickle
import threading
from base64 import b64decode
from collections.abc import Callable, Iterator
from dataclasses import asdict, dataclass
from itertools import cycle
from typing import Any

from panel.core.card_reading import CardRead, message_from_words, reading_from_words
from panel.core.errors import PanelError
from panel.core.message import Message, say
from panel.scanning.child_process import Child, child_at_hand
from panel.scanning.picture_size import may_have_pages
from panel.scanning.reading import CardKnown

AT_ONCE = threading.BoundedSemaphore(2)
"""Files that are read at the same time by one process of the service: the others wait."""

Candidates = Callable[[str], tuple[CardKnown, ...]]
"""From the text of a QR code to the cards it may be, one for each size of card that fits, smallest
first; () for no card that is expected. A PanelError becomes the reading's refusal in its words."""


@dataclass(frozen=True)
class Limits:
    """What one file may take: seconds of computing, seconds of waiting for the next page, bytes of
    address space. Without resource limits (Windows) the waiting alone ends it."""

    computing: int = 120
    waiting: int = 150
    memory: int = 2_000_000_000


LIMITS = Limits()


@dataclass(frozen=True)
class ReadOnPage:
    """One card that was found: the text of its code, and what was read."""

    text: str
    read: CardRead


@dataclass(frozen=True)
class PageOfFile:
    """One page: counted from 1, of how many, and its cards."""

    number: int
    pages: int
    cards: tuple[ReadOnPage, ...]


SHARED_FROM = 1_000_000
"""Bytes from which a file of many pages is shared between two processes, if both are free."""


def read_file(data: bytes, candidates: Candidates, limits: Limits = LIMITS) -> Iterator[PageOfFile]:
    """The pages of a file in order, each as soon as it is read.

    PanelError as in `pages.pages_of`, and "file-too-slow", "file-too-heavy", "reader-stopped".
    """
    with AT_ONCE:
        second = _worth_sharing(data) and AT_ONCE.acquire(blocking=False)
        try:
            yield from _read_by(2 if second else 1, data, candidates, limits)
        finally:
            if second:
                AT_ONCE.release()


def _worth_sharing(data: bytes) -> bool:
    return len(data) >= SHARED_FROM and may_have_pages(data) and (os.cpu_count() or 1) > 1


def _read_by(
    count: int, data: bytes, candidates: Candidates, limits: Limits
) -> Iterator[PageOfFile]:
    """The pages, every process reading each `count`th of them."""
    children = [child_at_hand() for _ in range(count)]
    done: set[Child] = set()
    try:
        for first, child in enumerate(children, start=1):
            told = {"bytes": len(data), "first": first, "step": count, **asdict(limits)}
            child.send(json.dumps(told).encode() + b"\n" + data)
        parts = [_talk(child, candidates, limits, done) for child in children]
        yield from _in_turn(parts)
    finally:
        for child in children:
            child.rest() if child in done else child.end()


def _in_turn(parts: list[Iterator[PageOfFile]]) -> Iterator[PageOfFile]:
    """One page of each in turn, until one has none left; then they all have ended."""
    for part in cycle(parts):
        page = next(part, None)
        if page is None:
            break
        yield page
    for part in parts:
        yield from part


def _talk(
    child: Child, candidates: Candidates, limits: Limits, done: set[Child]
) -> Iterator[PageOfFile]:
    """Its pages. `done`: where it is added once it has ended its part and can read another file."""
    for line in child.lines(limits.waiting):
        said = json.loads(line)
        match said["kind"]:
            case "ask":
                child.send(_answer(candidates, said["text"]))
            case "page":
                yield PageOfFile(said["number"], said["pages"], tuple(map(_card, said["cards"])))
            case "refused":
                done.add(child)
                message = message_from_words(said["message"])
                raise PanelError(said["code"], message, field="file")
            case "heavy":
                raise _refused("file-too-heavy", _heavy(limits))
            case "done":
                done.add(child)
                return
    if child.too_slow:
        raise _refused("file-too-slow", _slow(limits))
    raise _refused("reader-stopped", _stopped(limits))


def _answer(candidates: Candidates, text: str) -> bytes:
    try:
        found: tuple[CardKnown, ...] | Message = candidates(text)
    except PanelError as refusal:
        found = refusal.message
    words = pickle.dumps(found)  # read by our own program, and made of our own values
    return len(words).to_bytes(4, "big") + words


def _card(said: dict[str, Any]) -> ReadOnPage:
    picture = b64decode(said["picture"]) if said["picture"] else None
    return ReadOnPage(said["text"], reading_from_words(said["read"], picture))


def _slow(limits: Limits) -> Message:
    return say(
        "Reading this file takes longer than %(seconds)s seconds, which is the most for one file, "
        "so it was stopped. Send it in parts, scan in grey at 200 dots per inch, or take "
        "photographs instead.",
        seconds=min(limits.computing, limits.waiting),
    )


def _heavy(limits: Limits) -> Message:
    return say(
        "Reading this file needs more than %(most)s MB of memory, which is the most for one file, "
        "so it was stopped. Send it in parts, scan in grey at 200 dots per inch, or take "
        "photographs instead.",
        most=limits.memory // 1_000_000,
    )


def _stopped(limits: Limits) -> Message:
    return say(
        "The reader stopped at this file: it is damaged, or unfolds to more than the %(most)s MB "
        "of memory that one file may have. Scan the cards again, or take photographs instead.",
        most=limits.memory // 1_000_000,
    )


def _refused(code: str, message: Message) -> PanelError:
    return PanelError(code, message, field="file")
