"""The process that reads one file: bytes in, what was read out, nothing else; see apart.py.

What comes in is ours (pickled card layouts); what goes out is JSON, a line for each page, so that
whatever a file does to this process cannot reach the service in another form.
"""

import json
import os
import pickle
import sys
from base64 import b64encode
from typing import IO, Any

import numpy as np

from panel.core.card_reading import (
    CardRead,
    OpenPoint,
    PlaceRead,
    message_words,
    reading_words,
)
from panel.core.errors import PanelError
from panel.core.message import Message
from panel.scanning.kept_picture import box_map, kept_picture
from panel.scanning.pages import pages_of
from panel.scanning.projective import Floats, Picture, applied
from panel.scanning.read_marks import PlaceReading
from panel.scanning.reader import read_page
from panel.scanning.reading import CardKnown, CardReading, Reason
from panel.scanning.straighten import CROP_PER_MM

IDLE = 60
"""Seconds for which it waits for another file."""

NEVER_FITTED = frozenset({Reason.CORNERS, Reason.BENT, Reason.FAINT, Reason.CROWDED})
"""Reasons for which a card may only have been taken for one of another size."""


class Parent:
    """The service at the other end, which knows the cards."""

    def __init__(self, out: IO[bytes], into: IO[bytes]) -> None:
        self.out, self.into = out, into
        self.known: dict[str, tuple[CardKnown, ...] | Message] = {}

    def tell(self, kind: str, **words: Any) -> None:
        """One line to the service."""
        self.out.write(json.dumps({"kind": kind, **words}).encode() + b"\n")
        self.out.flush()

    def cards(self, text: str) -> tuple[CardKnown, ...]:
        """The cards that a code may belong to; PanelError where the service refuses it."""
        if text not in self.known:
            self.tell("ask", text=text)
            length = int.from_bytes(self.into.read(4), "big")
            self.known[text] = pickle.loads(self.into.read(length))  # from our own service
        found = self.known[text]
        if isinstance(found, Message):
            raise PanelError("card-refused", found)
        return found


def main() -> None:
    """Reads the files that come in, one after the other, until none comes for a while."""
    out = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)  # what a library prints is no answer
    into = sys.stdin.buffer
    _shut_in()
    while True:
        _wait(IDLE)
        line = into.readline()
        _wait(0)
        if not line:
            return
        told = json.loads(line)
        data = into.read(told["bytes"])
        _limit(told["computing"], told["memory"])
        if not _read(Parent(out, into), data, told["first"], told["step"]):
            return


def _read(parent: Parent, data: bytes, first: int, step: int) -> bool:
    """Whether this process can read another file after this one. It reads its own share of pages,
    the `first` and each `step`th from there."""
    try:
        for page in pages_of(data, first, step):
            cards = [_words(*one) for one in best_fitting(page.picture, parent)]
            parent.tell("page", number=page.number, pages=page.count, cards=cards)
        parent.tell("done")
    except PanelError as refusal:
        parent.tell("refused", code=refusal.code, message=message_words(refusal.message))
    except MemoryError:
        parent.tell("heavy")
        return False
    return True


if sys.platform == "win32":

    def _shut_in() -> None:
        """Nothing of the kind there: the service ends what takes too long."""

    def _wait(seconds: int) -> None:
        """It ends with the service."""

    def _limit(computing: int, memory: int) -> None:
        """As above."""

else:
    import resource
    import signal

    def _shut_in() -> None:
        """No file to write, no core to dump."""
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
        resource.setrlimit(resource.RLIMIT_FSIZE, (0, 0))

    def _wait(seconds: int) -> None:
        """End by itself after so many seconds; 0: not any more."""
        signal.alarm(seconds)

    def _limit(computing: int, memory: int) -> None:
        """What one file may take, seconds of computing counted from now."""
        used = resource.getrusage(resource.RUSAGE_SELF)
        until = int(used.ru_utime + used.ru_stime) + computing + 1
        resource.setrlimit(resource.RLIMIT_CPU, (until, resource.RLIM_INFINITY))
        resource.setrlimit(resource.RLIMIT_AS, (memory, resource.RLIM_INFINITY))


Fitted = tuple[CardReading, CardKnown | None]


def best_fitting(picture: Picture, parent: Parent) -> tuple[Fitted, ...]:
    """The readings of a page; a card that does not fit one size is tried as the next."""
    best: dict[str, Fitted] = {}
    size = 0
    while True:
        taken: dict[str, CardKnown] = {}

        def known(text: str, size: int = size, taken: dict[str, CardKnown] = taken) -> Any:
            cards = parent.cards(text)
            if not cards:
                return None
            taken[text] = cards[min(size, len(cards) - 1)]
            return taken[text]

        for reading in read_page(picture, known):
            before = best.get(reading.text)
            if before is None or (_never_fitted(before[0]) and not _never_fitted(reading)):
                best[reading.text] = reading, taken.get(reading.text)
        size += 1
        if not any(_never_fitted(one) and size < _sizes(parent, one) for one, _ in best.values()):
            return tuple(best.values())


def _sizes(parent: Parent, reading: CardReading) -> int:
    known = parent.known.get(reading.text)
    return len(known) if isinstance(known, tuple) else 0


def _never_fitted(reading: CardReading) -> bool:
    return any(one.question is None and one.reason in NEVER_FITTED for one in reading.open)


def _words(reading: CardReading, card: CardKnown | None) -> dict[str, Any]:
    picture = kept_picture(reading, card.layout) if card is not None else None
    map_of = box_map(reading, card.layout) if card is not None else None
    return {
        "text": reading.text,
        "read": reading_words(_plain(reading, map_of)),
        "picture": b64encode(picture).decode() if picture else "",
    }


def _plain(reading: CardReading, map_of: Floats | None) -> CardRead:
    return CardRead(
        number=reading.number or "",
        answers=reading.answers,
        open=tuple(
            OpenPoint(
                question=one.question or "",
                reason=one.reason,
                message=one.message,
                places=one.places,
            )
            for one in reading.open
        ),
        places=tuple(_place(one, map_of) for one in reading.places) if map_of is not None else (),
        corner_marks=reading.corner_marks,
        residual=_rounded(reading.residual),
        contrast=_rounded(reading.contrast),
        outlines=_rounded(reading.outlines),
        version=reading.version,
        picture=None,
    )


def _place(one: PlaceReading, map_of: Floats) -> PlaceRead:
    x, y = (float(value) for value in applied(map_of, np.array(one.at)))
    half = one.place.radius * CROP_PER_MM
    return PlaceRead(
        question=one.place.question,
        position=one.place.position,
        value=one.place.value,
        kind=one.place.kind,
        state=one.state,
        doubt=one.doubt or "",
        cover=round(one.cover, 3),
        depth=round(one.depth, 3),
        band=round(one.band, 3),
        outline=round(one.outline, 1),
        box=(round(x - half, 1), round(y - half, 1), 2 * half, 2 * half),
    )


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(float(value), 3)


if __name__ == "__main__":
    main()
