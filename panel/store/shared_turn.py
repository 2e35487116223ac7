"""One transaction for all that wait to write at the same moment: one commit for the disk instead of
as many as there are phones."""

from collections.abc import Callable
from contextlib import AbstractContextManager
from threading import Event, Lock
from typing import Any, Generic, TypeVar

from sqlalchemy.orm import Session

T = TypeVar("T")

Begin = Callable[[], AbstractContextManager[Session]]
"""Opens a write transaction that is committed at the end of the block."""


class SharedTurn:
    """Whoever finds nobody leading leads: opens a transaction, does in it their own work and what
    waits by then, one after the other, commits, and only then tells the others.

    Should a piece fail, nothing of the transaction is kept and each piece is done again in one of
    its own, so that none passes or fails for its neighbours' sake: work must bear being done again
    after it was undone. Should the commit fail, every piece of it has failed.
    """

    def __init__(self, begin: Begin) -> None:
        self._begin = begin
        self._lock = Lock()  # of the two that follow
        self._led = False
        self._waiting: list[_Piece[Any]] = []

    def do(self, work: Callable[[Session], T]) -> T:
        """What the work gives, once it is durable; raises what the work or its commit raised."""
        mine = _Piece(work)
        with self._lock:
            waits = self._led
            self._led = True
            if waits:
                self._waiting.append(mine)
        if waits:
            mine.told.wait()
        if not mine.done:
            self._lead(mine)
        if mine.failure is not None:
            raise mine.failure
        return mine.result

    def _lead(self, mine: "_Piece[Any]") -> None:
        batch = [mine]
        try:
            self._do(batch)
        except BaseException as failure:
            for piece in batch:
                piece.failure = failure
        finally:
            for piece in batch:
                piece.done = True
                piece.told.set()
            self._hand_on()

    def _do(self, batch: "list[_Piece[Any]]") -> None:
        """Fills the batch up, and does it; raises what spoilt it as a whole."""
        try:
            with self._begin() as session:
                with self._lock:
                    batch += self._waiting
                    self._waiting.clear()
                for piece in batch:
                    _do_beside(piece, session, len(batch))
        except _UndoneError:
            for piece in batch:
                piece.do_alone(self._begin)

    def _hand_on(self) -> None:
        """Lets the one who has waited longest lead."""
        with self._lock:
            following = self._waiting.pop(0) if self._waiting else None
            self._led = following is not None
        if following is not None:
            following.told.set()


class _Piece(Generic[T]):
    """Somebody's work, and what came of it. `told` is set when it is done, or its turn to lead."""

    result: T

    def __init__(self, work: Callable[[Session], T]) -> None:
        self.work = work
        self.failure: BaseException | None = None
        self.done = False
        self.told = Event()

    def do_alone(self, begin: Begin) -> None:
        try:
            with begin() as session:
                self.result = self.work(session)
        except Exception as failure:
            self.failure = failure


class _UndoneError(Exception):
    """A piece failed beside others."""


def _do_beside(piece: _Piece[Any], session: Session, together: int) -> None:
    try:
        piece.result = piece.work(session)
        session.flush()
    except Exception as failure:
        if together == 1:
            raise
        raise _UndoneError from failure
    session.expunge_all()  # the next piece reads its rows anew
