"""Who saw the key before closing, and what they did afterwards: derived from the record alone,
never from what was intended.

Modelled on ICH E6(R3), 4.1: every unblinding is documented with who, when and why, and weighed.
Who printed a sheet is taken to have seen it. Whoever looked at paper that somebody else printed,
or learnt it by word of mouth, stands in no record. Closing a sitting, and setting aside what has
no ballot, choose no single ballot, so they are not counted as decisions.
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

SEALED_KEY, TOLD_SLIPS = "sealed-key", "told-slips"
WHOLE = frozenset({SEALED_KEY, ENVELOPE})
"""What shows the secret, and so the cups of every sitting, under their own names."""


@dataclass(frozen=True)
class Seen:
    """A way in which the key was seen, and when first (UTC, the second begun): a sheet's name,
    SCREEN, ENVELOPE. `sitting` is the id of the sitting whose cups it shows, "" where it shows
    all of them."""

    what: str
    first: datetime
    sitting: str = ""

    def of(self, sitting: str) -> bool:
        """Whether it shows which cup is which in that sitting; the told slips show who was told."""
        return self.what != TOLD_SLIPS and self.sitting in ("", sitting)


@dataclass(frozen=True, kw_only=True)
class Sighted:
    """Somebody who saw the key, or part of it, before closing, and what they did afterwards.

    `number` counts people of one role by first appearance, 0 where there is only one. `trays` were
    opened by them in an emergency. Of sittings whose key they had seen, they settled questions,
    set trays aside, took such a tap back, keyed ballots in: so often. `handed_out` are the trays
    that they gave to tasters after having seen which cup was which, by sitting id.
    """

    role: Role
    number: int
    seen: tuple[Seen, ...]
    trays: int = 0
    settled: int = 0
    set_aside: int = 0
    taken_back: int = 0
    keyed: int = 0
    handed_out: tuple[tuple[str, int], ...] = ()

    @property
    def judged(self) -> int:
        """How often they did what bears on the count of single ballots."""
        return self.settled + self.set_aside + self.taken_back + self.keyed


def sighted_of(
    record: Iterable[Record], sittings: Mapping[int, str] | None = None
) -> tuple[Sighted, ...]:
    """Everybody who saw the key before closing, by first appearance. record: one comparison's
    chain from its beginning; what was done after closing is left out. sittings: tray number to
    sitting id; a tray that is not there is taken to be one whose key was seen."""
    where = dict(sittings or {})
    people: dict[str, Sighted] = {}
    for line in record:
        if line.what == Deed.CLOSED:
            break
        known = people.get(line.who)
        seen = _seen(line)
        if seen is not None:
            known = known or Sighted(role=Role(line.role), number=0, seen=())
            people[line.who] = replace(known, seen=_with(known.seen, seen))
        elif _emergency(line):
            known = known or Sighted(role=Role(line.role), number=0, seen=())
            people[line.who] = replace(known, trays=known.trays + 1)
        elif known is not None:
            people[line.who] = _afterwards(known, line, where)
    return _numbered(tuple(people.values()))


def _seen(line: Record) -> Seen | None:
    """How a line says that the key was seen; None where it does not."""
    match line.what:
        case Deed.KEY_PRINTED:
            what = str(_detail(line).get("sheet", ""))
        case Deed.KEY_SHOWN:
            what = SCREEN
        case Deed.KEY_RECOVERED:
            what = ENVELOPE
        case _:
            return None
    sitting = "" if what in WHOLE else line.subject
    return Seen(what, datetime.fromisoformat(line.at).replace(microsecond=0), sitting)


def _emergency(line: Record) -> bool:
    return line.what == Deed.TRAY_REVEALED and line.role != Role.TASTER


def _with(before: tuple[Seen, ...], seen: Seen) -> tuple[Seen, ...]:
    known = {(one.what, one.sitting) for one in before}
    return before if (seen.what, seen.sitting) in known else (*before, seen)


def _afterwards(known: Sighted, line: Record, where: Mapping[int, str]) -> Sighted:
    """Trays opened in an emergency show no more than themselves: what is decided after them alone
    is decided blind, and so is what is decided in a sitting whose key was not seen. The told slips
    show who was told: that is enough to favour a group."""
    sitting = where.get(int(line.subject), "") if line.subject.isdecimal() else ""
    if not any(not sitting or seen.sitting in ("", sitting) for seen in known.seen):
        return known
    match line.what:
        case Deed.QUESTION_SETTLED:
            return replace(known, settled=known.settled + 1)
        case Deed.SET_ASIDE:
            return replace(known, set_aside=known.set_aside + 1)
        case Deed.TAKEN_BACK:
            return replace(known, taken_back=known.taken_back + 1)
        case Deed.BALLOT_TAKEN if _detail(line).get("channel") == Channel.KEYED:
            return replace(known, keyed=known.keyed + 1)
        case Deed.HANDED_OUT if any(not sitting or seen.of(sitting) for seen in known.seen):
            given = Counter(dict(known.handed_out))
            given[sitting] += 1
            return replace(known, handed_out=tuple(given.items()))
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
            "seen": [
                {
                    "what": seen.what,
                    "sitting": seen.sitting or None,
                    "first": moment_words(seen.first),
                }
                for seen in one.seen
            ],
            "trays": one.trays,
            "settled": one.settled,
            "set aside": one.set_aside,
            "taken back": one.taken_back,
            "keyed": one.keyed,
            "handed out": dict(one.handed_out),
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
                Seen(seen["what"], datetime.fromisoformat(seen["first"]), seen["sitting"] or "")
                for seen in one["seen"]
            ),
            trays=one["trays"],
            settled=one["settled"],
            set_aside=one["set aside"],
            taken_back=one["taken back"],
            keyed=one["keyed"],
            handed_out=tuple(one["handed out"].items()),
        )
        for one in words
    )
