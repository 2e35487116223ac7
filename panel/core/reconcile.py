"""Copies of one ballot that came in by different ways: the same, a revision, or a question."""

from enum import Enum

from panel.core.ballot import Ballot


class Copy(Enum):
    """What a further ballot of the same tray is."""

    FIRST = "first"
    SAME = "same"  # says what is already there: counts once
    REVISION = "revision"  # same channel, other answers: the later one counts
    QUESTION = "question"  # another channel says something else: a person decides


def compare(earlier: Ballot | None, later: Ballot, machine_read: frozenset[str]) -> Copy:
    """What `later` is beside the ballot that counts so far.

    machine_read: ids of the questions that decide whether two copies agree. Free words are left
    out, and so is a side answer that one of the copies does not have: paper may leave it open.
    """
    if earlier is None:
        return Copy.FIRST
    if earlier.channel is later.channel:
        return Copy.SAME if dict(earlier.answers) == dict(later.answers) else Copy.REVISION
    both = machine_read & set(earlier.answers) & set(later.answers)
    agree = all(earlier.answers[name] == later.answers[name] for name in both)
    return Copy.SAME if agree else Copy.QUESTION
