"""The blinding that was planned, and what the record says of it, in sentences."""

from collections.abc import Iterable, Iterator

from panel.core.blinding_kept import Kept
from panel.core.message import Message, say, say_n
from panel.core.names import Blinding
from panel.core.wording.sight import who

PLANNED = {
    Blinding.SINGLE: say("single: tasters were not to know which cup was which; who served could"),
    Blinding.DOUBLE: say(
        "double: neither tasters nor who served them were to know which cup was which"
    ),
    Blinding.TRIPLE: say(
        "triple: neither tasters nor who served nor who poured were to know which drink was which"
    ),
}

LEVEL = {
    Blinding.SINGLE: say("single"),
    Blinding.DOUBLE: say("double"),
    Blinding.TRIPLE: say("triple"),
}

NOTHING_AGAINST = say(
    "As planned, as far as the record can tell. It has what went through the program, and not what "
    "somebody saw or heard in the room."
)
CHANGED = say(
    "The plan was changed after sealing. If who did what was changed, that is not weighed here: "
    "read the changes below."
)


def say_blinding(kept: Iterable[Kept]) -> tuple[tuple[str, Message], ...]:
    """Sentences with the id of the sitting of which they are true; "" where of every sitting."""
    said = {one.sitting: tuple(_of_one(one)) for one in kept}
    if len(set(said.values())) == 1:
        return tuple(("", sentence) for sentence in next(iter(said.values())))
    return tuple((sitting, sentence) for sitting, of_one in said.items() for sentence in of_one)


def _of_one(kept: Kept) -> Iterator[Message]:
    if kept.lowered:
        yield say(
            "%(level)s at most, and not %(planned)s.",
            level=LEVEL[kept.level],
            planned=LEVEL[kept.planned],
        )
    reasons = tuple(_reasons(kept))
    yield from reasons
    if not kept.lowered and not reasons:
        yield NOTHING_AGAINST


def _reasons(kept: Kept) -> Iterator[Message]:
    for person, trays in kept.served:
        yield say_n(
            "%(who)s handed out one tray after seeing the key or printing it.",
            "%(who)s handed out %(count)s trays after seeing the key or printing it.",
            trays,
            who=who(person),
        )
    for person in kept.named:
        yield say(
            "%(who)s saw or printed what tells which drink is which before the sitting closed.",
            who=who(person),
        )
    if kept.uncovered:
        yield say("The drinks had no cover names, so whoever poured read their own names.")
    for person in kept.tasted:
        yield say(
            "By the plan the organiser also tasted. %(who)s saw the key or part of it before the "
            "sitting closed.",
            who=who(person),
        )
    if kept.unnoted and kept.level is not Blinding.SINGLE:
        yield say_n(
            "Of one tray nobody noted who handed it out: that they were blind is not on record.",
            "Of %(count)s trays nobody noted who handed them out: that they were blind is not on "
            "record.",
            kept.unnoted,
        )
    if kept.poured_from_nothing:
        yield say(
            "Nobody printed or looked at what the cups are poured by: who poured, and who else "
            "could see it, is not on record."
        )
