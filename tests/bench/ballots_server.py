"""The service as `tests.bench.ballots` measures it, as a process of its own: the real application
on the real server, with two more doors beside the ballot's.

    /t/REF/floor   the application's own skeleton (origin, guard, form token, limits, headers), and
                   in the place of a ballot one bare insert by the ORM with its commit
    /bare          the same insert in an application of Flask's that has nothing else

`python -m tests.bench.ballots_server FOLDER URL [--profile FILE]`
"""

import argparse
import cProfile
import pstats
import threading
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from flask import Blueprint, Flask, redirect, request
from flask.typing import ResponseReturnValue
from sqlalchemy.orm import DeclarativeBase, Mapped, mapped_column
from werkzeug.middleware.dispatcher import DispatcherMiddleware

from panel import settings as settings_room
from panel.app import close, create_app, serve, workplace_of
from panel.store.session import Units
from panel.web.guards import register


class Base(DeclarativeBase):
    """Of the bench alone."""


class FloorRow(Base):
    """What a bare insert inserts."""

    __tablename__ = "bench_floor"

    id: Mapped[int] = mapped_column(primary_key=True)
    words: Mapped[str]


def insert(units: Units) -> None:
    """One row by the ORM, committed."""
    with units.begin() as session:
        session.add(FloorRow(words=request.form.get("key", "")))


def floor_pages(units: Units) -> Blueprint:
    """The floor behind the door of a tray: its name makes its audience."""
    pages = Blueprint("taster_floor", __name__, url_prefix="/t/<ref:ref>")

    @pages.post("/floor")
    def floor(ref: str) -> ResponseReturnValue:
        insert(units)
        return redirect(f"/t/{ref}/receipt")

    return pages


def bare_app(units: Units) -> Flask:
    """Flask and nothing else."""
    bare = Flask("bare")

    @bare.post("/")
    def floor() -> ResponseReturnValue:
        insert(units)
        return redirect("/receipt")

    return bare


def main() -> None:
    """Serves until told to stop."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("url")
    parser.add_argument("--profile", type=Path)
    given = parser.parse_args()
    # One proxy before it: the phones' own addresses come in a header, and no limit is lifted.
    words = {"PANEL_DATABASE_URL": given.url, "PANEL_PROXIES": "1"}
    app = create_app(settings_room.load(words, given.folder))
    units = workplace_of(app).units
    register(app, floor_pages(units))
    bare = bare_app(units)
    app.wsgi_app = DispatcherMiddleware(app.wsgi_app, {"/bare": bare.wsgi_app})  # type: ignore[method-assign]
    if given.profile:
        app.wsgi_app = Profiled(app.wsgi_app)  # type: ignore[method-assign]
    serve(app, "127.0.0.1", 0, lambda port: print(f"ready {port}", flush=True))  # noqa: T201
    if given.profile:
        pstats.Stats(Profiled.profile).dump_stats(given.profile)
    close(app)


class Profiled:
    """Every request under one profile, one at a time."""

    profile = cProfile.Profile()
    turn = threading.Lock()

    def __init__(self, inner: Any) -> None:
        self.inner = inner

    def __call__(self, environment: Any, start: Any) -> Iterable[bytes]:
        with self.turn:
            self.profile.enable()
            try:
                answer: Iterable[bytes] = self.inner(environment, start)
                return answer
            finally:
                self.profile.disable()


if __name__ == "__main__":
    main()
