"""Copies of one ballot that came in by different ways: the same, a revision, or a question."""

from collections.abc import Iterable, Sequence
from enum import Enum

from panel.core.ballot import Ballot
from panel.core.names import Channel


class Copy(Enum):
    """What a further ballot of the same tray is."""

    FIRST = "first"
    SAME = "same"  # its channel's last copy over again: kept once
    REVISION = "revision"  # its channel's last copy with other answers: the later one counts
    AGREES = "agrees"  # another channel says the same: kept beside it
    QUESTION = "question"  # another channel says something else: a person decides


def compare(earlier: Sequence[Ballot], later: Ballot, machine_read: frozenset[str]) -> Copy:
    """What `later` is beside the ballots of its tray, first to last.

    Paper and phone that differ are a question whichever came later, so the last copy of every
    other channel is asked. machine_read: ids of the questions by which two copies agree; free
    words are left out, and so is a side answer that one copy does not have: paper may leave it
    open.
    """
    last = last_of_each(earlier)
    mine = last.pop(later.channel, None)
    if mine is not None and dict(mine.answers) == dict(later.answers):
        return Copy.SAME
    if any(differ(other, later, machine_read) for other in last.values()):
        return Copy.QUESTION
    if mine is not None:
        return Copy.REVISION
    return Copy.AGREES if last else Copy.FIRST


def in_question(ballots: Iterable[Ballot], machine_read: frozenset[str]) -> bool:
    """Whether the last copies of any two channels differ."""
    last = tuple(last_of_each(ballots).values())
    return any(differ(one, other, machine_read) for one in last for other in last)


def differ(one: Ballot, other: Ballot, machine_read: frozenset[str]) -> bool:
    """Whether two copies say different things where both say something."""
    both = machine_read & set(one.answers) & set(other.answers)
    return any(one.answers[name] != other.answers[name] for name in both)


def last_of_each(ballots: Iterable[Ballot]) -> dict[Channel, Ballot]:
    """The last copy of each channel."""
    return {ballot.channel: ballot for ballot in ballots}
