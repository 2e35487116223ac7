"""Questions about ballots. Every revision is kept; which one counts is a mark on its row."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, replace
from itertools import groupby

from sqlalchemy import ColumnElement, bindparam, func, insert, select, tuple_, update
from sqlalchemy.orm import Session

from panel.core.ballot import Ballot
from panel.core.questions import Answer
from panel.store.tables_serving import AnswerRow, BallotRow, TrayRow


@dataclass(frozen=True)
class Kept:
    """A ballot with the key of the form that brought it; None for one that had none."""

    ballot: Ballot
    key: str | None


BALLOT = insert(BallotRow)
ANSWER = insert(AnswerRow)


def add(
    session: Session,
    comparison_id: str,
    ballot: Ballot,
    idempotency_key: str | None = None,
    last: int | None = None,
) -> Ballot:
    """Keep a ballot as the next revision of its tray; the ballot with that revision.

    last: the tray's last revision, if the caller has just read it (0: it has none). A key that the
    tray has seen already ends in PanelError (fault CLASH): look for it in `kept` first.
    """
    if last is None:
        last = max(
            (one.ballot.revision for one in kept(session, comparison_id, ballot.tray)), default=0
        )
    added = replace(ballot, revision=last + 1)
    place = {"comparison": comparison_id, "tray": added.tray, "revision": added.revision}
    connection = session.connection()
    row = {
        "channel": added.channel,
        "received": added.received,
        "late": added.late,
        "idempotency_key": idempotency_key,
    }
    connection.execute(BALLOT, {**place, **row})
    if added.answers:
        connection.execute(
            ANSWER,
            [
                {**place, "question": question, "words": list(answer)}
                for question, answer in added.answers.items()
            ],
        )
    return added


KEPT = (
    select(
        BallotRow.revision,
        BallotRow.channel,
        BallotRow.received,
        BallotRow.late,
        BallotRow.idempotency_key,
        AnswerRow.question,
        AnswerRow.words,
    )
    .outerjoin(
        AnswerRow,
        (AnswerRow.comparison == BallotRow.comparison)
        & (AnswerRow.tray == BallotRow.tray)
        & (AnswerRow.revision == BallotRow.revision),
    )
    .where(BallotRow.comparison == bindparam("comparison"), BallotRow.tray == bindparam("tray"))
    .order_by(BallotRow.revision, AnswerRow.question)
)


def kept(session: Session, comparison_id: str, number: int) -> tuple[Kept, ...]:
    """Every ballot of a tray, first to last, late ones too, by one question."""
    rows = session.connection().execute(KEPT, {"comparison": comparison_id, "tray": number})
    found = []
    for (revision, channel, received, late, key), lines in groupby(rows, lambda row: row[:5]):
        answers = {name: tuple(words) for *_ballot, name, words in lines if name is not None}
        ballot = Ballot(
            tray=number,
            channel=channel,
            answers=answers,
            received=received,
            revision=revision,
            late=late,
        )
        found.append(Kept(ballot, key))
    return tuple(found)


def latest(session: Session, comparison_id: str, number: int) -> Ballot | None:
    """The tray's last ballot that came in before closing."""
    found = revisions(session, comparison_id, number)
    return next((ballot for ballot in reversed(found) if not ballot.late), None)


def revisions(session: Session, comparison_id: str, number: int) -> tuple[Ballot, ...]:
    """Every ballot of a tray, first to last, late ones too."""
    return tuple(one.ballot for one in kept(session, comparison_id, number))


def every_revision(session: Session, comparison_id: str) -> tuple[Ballot, ...]:
    """Every ballot of a comparison by tray, first to last, late ones too."""
    return tuple(_ballots(session, BallotRow.comparison == comparison_id))


def of_comparison(session: Session, comparison_id: str) -> dict[int, Ballot]:
    """Tray number to its last ballot that came in before closing."""
    newest = (
        select(BallotRow.comparison, BallotRow.tray, func.max(BallotRow.revision))
        .where(BallotRow.comparison == comparison_id, BallotRow.late.is_(False))
        .group_by(BallotRow.comparison, BallotRow.tray)
    )
    place = tuple_(BallotRow.comparison, BallotRow.tray, BallotRow.revision)
    return {ballot.tray: ballot for ballot in _ballots(session, place.in_(newest))}


def counted(session: Session, comparison_id: str) -> dict[int, Ballot]:
    """Tray number to the ballot that counts, of those that have one."""
    mine = (BallotRow.comparison == comparison_id, BallotRow.counted.is_not(None))
    return {ballot.tray: ballot for ballot in _ballots(session, *mine)}


def late(session: Session, comparison_id: str) -> tuple[Ballot, ...]:
    """Ballots that came in after closing: listed, never counted."""
    mine = (BallotRow.comparison == comparison_id, BallotRow.late.is_(True))
    return tuple(_ballots(session, *mine))


def count_by_sitting(session: Session, comparison_id: str) -> dict[str, int]:
    """Sitting to how many of its trays have a ballot in before closing."""
    question = (
        select(TrayRow.sitting, func.count(BallotRow.tray.distinct()))
        .join(
            BallotRow,
            (BallotRow.comparison == TrayRow.comparison) & (BallotRow.tray == TrayRow.number),
        )
        .where(TrayRow.comparison == comparison_id, BallotRow.late.is_(False))
        .group_by(TrayRow.sitting)
    )
    return {sitting: count for sitting, count in session.execute(question)}


def count_late_by_sitting(session: Session, comparison_id: str) -> dict[str, int]:
    """Sitting to how many ballots of its trays came in after closing."""
    question = (
        select(TrayRow.sitting, func.count())
        .join(
            BallotRow,
            (BallotRow.comparison == TrayRow.comparison) & (BallotRow.tray == TrayRow.number),
        )
        .where(TrayRow.comparison == comparison_id, BallotRow.late.is_(True))
        .group_by(TrayRow.sitting)
    )
    return {sitting: count for sitting, count in session.execute(question)}


def trays_with_ballot(session: Session, comparison_id: str) -> frozenset[int]:
    """Numbers of the trays from which any ballot came in."""
    question = select(BallotRow.tray).where(BallotRow.comparison == comparison_id).distinct()
    return frozenset(session.scalars(question))


def mark_counted(session: Session, comparison_id: str, number: int, revision: int | None) -> None:
    """Let that revision of the tray count and no other; None: none of them."""
    mark_all_counted(session, comparison_id, {number: revision})


def mark_all_counted(
    session: Session, comparison_id: str, revisions_by_tray: dict[int, int | None]
) -> None:
    """The same for many trays at once."""
    mine = update(BallotRow).where(
        BallotRow.comparison == comparison_id, BallotRow.tray.in_(list(revisions_by_tray))
    )
    session.execute(mine.values(counted=None))
    places = [(tray, revision) for tray, revision in revisions_by_tray.items() if revision]
    if places:
        place = tuple_(BallotRow.tray, BallotRow.revision)
        session.execute(mine.where(place.in_(places)).values(counted=1))


def erase_words(
    session: Session, comparison_id: str, questions: Iterable[str], number: int | None = None
) -> int:
    """Take the answers to these questions away (free words can name people), of all trays or of
    one; how many."""
    mine = [AnswerRow.comparison == comparison_id, AnswerRow.question.in_(list(questions))]
    if number is not None:
        mine.append(AnswerRow.tray == number)
    rows = session.scalars(select(AnswerRow).where(*mine)).all()
    for row in rows:
        session.delete(row)
    session.flush()
    return len(rows)


ROWS = select(
    BallotRow.tray, BallotRow.revision, BallotRow.channel, BallotRow.received, BallotRow.late
).order_by(BallotRow.tray, BallotRow.revision)


def _ballots(session: Session, *conditions: ColumnElement[bool]) -> list[Ballot]:
    """Ballots with their answers by two questions, by tray and revision."""
    rows = session.execute(ROWS.where(*conditions)).all()
    if not rows:
        return []
    answers = _answers(session, *conditions)
    return [
        Ballot(
            tray=row.tray,
            channel=row.channel,
            answers=answers[row.tray, row.revision],
            received=row.received,
            revision=row.revision,
            late=row.late,
        )
        for row in rows
    ]


def _answers(
    session: Session, *conditions: ColumnElement[bool]
) -> dict[tuple[int, int], dict[str, Answer]]:
    """Tray and revision to answers by question."""
    same = (
        (AnswerRow.comparison == BallotRow.comparison)
        & (AnswerRow.tray == BallotRow.tray)
        & (AnswerRow.revision == BallotRow.revision)
    )
    question = (
        select(AnswerRow.tray, AnswerRow.revision, AnswerRow.question, AnswerRow.words)
        .join(BallotRow, same)
        .where(*conditions)
        .order_by(AnswerRow.question)
    )
    found: dict[tuple[int, int], dict[str, Answer]] = defaultdict(dict)
    for tray, revision, name, words in session.execute(question):
        found[tray, revision][name] = tuple(words)
    return found
