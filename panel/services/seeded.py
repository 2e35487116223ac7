"""Chance and time of an invented event or a test: they follow from a seed and are never secret."""

import hashlib
from collections.abc import Callable
from datetime import datetime, timedelta
from itertools import count


def seeded_entropy(seed: str) -> Callable[[int], bytes]:
    """Bytes that follow from a seed. A real draw takes the system's."""
    numbers = count()

    def entropy(length: int) -> bytes:
        blocks: list[bytes] = []
        while 32 * len(blocks) < length:
            blocks.append(hashlib.sha256(f"{seed}/{next(numbers)}".encode()).digest())
        return b"".join(blocks)[:length]

    return entropy


class EventClock:
    """A clock that is set by the event and ticks a second each time it is read."""

    def __init__(self, start: datetime) -> None:
        self.moment = start

    def __call__(self) -> datetime:
        self.moment += timedelta(seconds=1)
        return self.moment
