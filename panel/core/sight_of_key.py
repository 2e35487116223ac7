"""Who saw the key before closing, and what they decided afterwards: derived from the record alone,
never from what was intended.

Modelled on ICH E6(R3), 4.1: every unblinding is documented with who, when and why, and weighed.
Who printed a sheet is taken to have seen it. Whoever looked at paper that somebody else printed,
or learnt it by word of mouth, stands in no record.
"""

import json
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from panel.core.deeds import Deed
from panel.core.names import Channel, Role
from panel.core.plan_document import moment_words
from panel.core.record import Record

SCREEN, ENVELOPE = "screen", "envelope"
"""Ways to see the key that are no sheet of paper."""


@dataclass(frozen=True)
class Seen:
    """A way in which the key was seen, and when first (UTC): a sheet's name, SCREEN, ENVELOPE."""

    what: str
    first: datetime


@dataclass(frozen=True, kw_only=True)
class Sighted:
    """Somebody who saw the key, or part of it, before closing, and what they did afterwards.

    `number` counts people of one role by first appearance, 0 where there is only one. `trays` were
    opened by them in an emergency. Afterwards they settled questions, set trays aside or took that
    back, keyed ballots in: so often.
    """

    role: Role
    number: int
    seen: tuple[Seen, ...]
    trays: int = 0
    settled: int = 0
    set_aside: int = 0
    keyed: int = 0

    @property
    def judged(self) -> int:
        """Decisions about single ballots that were made after seeing the key."""
        return self.settled + self.set_aside


def sighted_of(record: Iterable[Record]) -> tuple[Sighted, ...]:
    """Everybody who saw the key before closing, by first appearance. record: one comparison's
    chain from its beginning; what was done after closing is left out."""
    people: dict[str, Sighted] = {}
    for line in record:
        if line.what == Deed.CLOSED:
            break
        known = people.get(line.who)
        seen = _seen(line)
        if seen:
            known = known or Sighted(role=Role(line.role), number=0, seen=())
            people[line.who] = replace(known, seen=_with(known.seen, seen, line.at))
        elif _emergency(line):
            known = known or Sighted(role=Role(line.role), number=0, seen=())
            people[line.who] = replace(known, trays=known.trays + 1)
        elif known is not None:
            people[line.who] = _afterwards(known, line)
    return _numbered(tuple(people.values()))


def _seen(line: Record) -> str:
    """How a line says that the key was seen; "" where it does not."""
    match line.what:
        case Deed.KEY_PRINTED:
            return str(_detail(line).get("sheet", ""))
        case Deed.KEY_SHOWN:
            return SCREEN
        case Deed.KEY_RECOVERED:
            return ENVELOPE
        case _:
            return ""


def _emergency(line: Record) -> bool:
    return line.what == Deed.TRAY_REVEALED and line.role != Role.TASTER


def _with(before: tuple[Seen, ...], what: str, at: str) -> tuple[Seen, ...]:
    if any(one.what == what for one in before):
        return before
    return (*before, Seen(what, datetime.fromisoformat(at)))


def _afterwards(known: Sighted, line: Record) -> Sighted:
    """Trays opened in an emergency show no more than themselves: what is decided after them alone
    is decided blind."""
    if not known.seen:
        return known
    match line.what:
        case Deed.QUESTION_SETTLED:
            return replace(known, settled=known.settled + 1)
        case Deed.SET_ASIDE | Deed.TAKEN_BACK:
            return replace(known, set_aside=known.set_aside + 1)
        case Deed.BALLOT_TAKEN if _detail(line).get("channel") == Channel.KEYED:
            return replace(known, keyed=known.keyed + 1)
        case _:
            return known


def _detail(line: Record) -> Mapping[str, Any]:
    words: Mapping[str, Any] = json.loads(line.detail)
    return words


def _numbered(people: tuple[Sighted, ...]) -> tuple[Sighted, ...]:
    many = Counter(one.role for one in people)
    so_far: Counter[Role] = Counter()
    numbered = []
    for one in people:
        so_far[one.role] += 1
        numbered.append(replace(one, number=so_far[one.role] if many[one.role] > 1 else 0))
    return tuple(numbered)


def sighted_words(people: Iterable[Sighted]) -> list[dict[str, Any]]:
    """As JSON values: no id of anybody."""
    return [
        {
            "role": str(one.role),
            "number": one.number,
            "seen": [{"what": seen.what, "first": moment_words(seen.first)} for seen in one.seen],
            "trays": one.trays,
            "settled": one.settled,
            "set aside": one.set_aside,
            "keyed": one.keyed,
        }
        for one in people
    ]


def sighted_from(words: Iterable[Mapping[str, Any]]) -> tuple[Sighted, ...]:
    """The people that `sighted_words` wrote; KeyError, TypeError, ValueError for anything else."""
    return tuple(
        Sighted(
            role=Role(one["role"]),
            number=one["number"],
            seen=tuple(
                Seen(seen["what"], datetime.fromisoformat(seen["first"])) for seen in one["seen"]
            ),
            trays=one["trays"],
            settled=one["settled"],
            set_aside=one["set aside"],
            keyed=one["keyed"],
        )
        for one in words
    )
