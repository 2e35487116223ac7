"""How long the result's pages take when there is much: `python -m tests.bench.findings_page`.

    alone     a comparison of 1,000 ballots, alone in its database
    beside    such a one in a database of 100,000 ballots
    largest   the largest comparison there can be (card numbers end at 9,999), in that database

By the whole application without a socket: the organiser's findings looked at for the first time
since the service began, then once more, and the public result. Each is held against
1.5 times the same page of the small one alone, plus one query that counts the comparison's ballots
by answer, which no page can do without. Medians of turns, every kind in each turn, in milliseconds
of processor: all the work, SQLite's too, is done in this process, and the machine may have other.
"""

import argparse
import json
import random
import statistics
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from flask.testing import FlaskClient
from sqlalchemy import text

from panel import settings as settings_room
from panel.app import close, create_app, workplace_of
from panel.core.ballot import Ballot
from panel.core.comparison import Comparison
from panel.core.deeds import Deed
from panel.core.names import CardStanding, Channel
from panel.services import (
    close_and_unseal,
    open_sitting,
    plan_comparison,
    publish,
    seal_comparison,
    sign_in,
)
from panel.services.workplace import Workplace, open_workplace
from panel.store import ballots as ballots_store
from panel.store import records
from panel.store import trays as trays_store
from panel.web import cookies
from tests.bench.ballots import database
from tests.builders import ORGANISER, answers, draft, sitting_draft

SMALL = (500,)
LARGEST = (2_000, 2_000, 949)
"""Trays planned, by sitting; as many spares are drawn, and all of them have a ballot here."""

IN_ALL = 100_000
TURNS = 5
ALLOWED = 1.5

COUNT = text(
    "SELECT CAST(answer.words AS text), count(*) FROM ballot JOIN answer"
    " ON answer.comparison = ballot.comparison AND answer.tray = ballot.tray"
    " AND answer.revision = ballot.revision WHERE ballot.comparison = :comparison"
    " AND ballot.counted = 1 AND answer.question = 'odd' GROUP BY CAST(answer.words AS text)"
)


@dataclass(frozen=True)
class Kind:
    """A comparison in its database, how many ballots it has, and an organiser's cookie."""

    name: str
    url: str
    folder: Path
    comparison: Comparison
    ballots: int
    signed_in: str


def published(at: Workplace, planned: tuple[int, ...], seed: str) -> tuple[Comparison, int]:
    """A published comparison in which every tray that was drawn has a ballot; how many."""
    chance = random.Random(seed)
    known = plan_comparison.start_draft(at, ORGANISER, draft())
    for place, count in enumerate(planned):
        there = sitting_draft(f"Table {place}", planned=count, starts=at.now())
        plan_comparison.add_sitting(at, ORGANISER, known.id, there)
    known = seal_comparison.seal(at, ORGANISER, known.id)
    many = 0
    for sitting in known.sittings:
        open_sitting.open_sitting(at, ORGANISER, known.id, sitting.id, another_day=True)
        many += _all_answered(at, known, sitting.id, chance)
        open_sitting.close_sitting(at, ORGANISER, known.id, sitting.id)
    close_and_unseal.close(at, ORGANISER, known.id)
    return publish.publish(at, ORGANISER, known.id), many


def _all_answered(at: Workplace, known: Comparison, sitting: str, chance: random.Random) -> int:
    """A ballot with its line in the record for every tray of a sitting, in one transaction."""
    trays = list(open_sitting.board(at, ORGANISER, known.id, sitting).trays)
    chance.shuffle(trays)
    with at.units.begin() as session:
        for tray in trays:
            given = answers(known, tray, chance.choice((1, 2, 3)))
            ballot = Ballot(
                tray=tray.number, channel=Channel.PHONE, answers=given, received=at.now()
            )
            ballots_store.add(session, known.id, ballot, f"{chance.getrandbits(128):032x}", 0)
            records.append(
                session, known.id, at.now(), role="taster", who=f"t{tray.number}",
                what=Deed.BALLOT_TAKEN, subject=str(tray.number),
                detail={"revision": 1, "channel": "phone"},
            )  # fmt: skip
        numbers = [tray.number for tray in trays]
        trays_store.set_standing(session, known.id, numbers, CardStanding.RETURNED)
    return len(trays)


def built(url: str, folder: Path, kinds: dict[str, tuple[int, ...]], fill: int) -> list[Kind]:
    """Comparisons of these kinds, and as many more of the largest as make `fill` ballots."""
    at = open_workplace(settings_room.load({"PANEL_DATABASE_URL": url}, folder))
    try:
        link = sign_in.first_link(at)
        assert link is not None
        cookie = sign_in.set_up(at, link, "Robin", "heron lantern gravel spoon")
        made = []
        for name, planned in kinds.items():
            known, many = published(at, planned, name)
            made.append(Kind(name, url, folder, known, many, cookie))
        there = sum(one.ballots for one in made)
        while there < fill:
            _known, many = published(at, LARGEST if fill - there > 9_000 else SMALL, str(there))
            there += many
        return made
    finally:
        at.units.close()


@dataclass(frozen=True)
class Look:
    """Seconds that one turn took: the organiser's page at the first look, both pages at the next,
    and the bare query."""

    first: float
    again: dict[str, float]
    query: float


def looked(kind: Kind) -> Look:
    """One turn: a service that has just begun, and somebody signed in."""
    app = create_app(settings_room.load({"PANEL_DATABASE_URL": kind.url}, kind.folder))
    at = workplace_of(app)
    try:
        client = app.test_client()
        client.set_cookie(cookies.SIGN_IN, kind.signed_in)
        client.get("/")  # templates and what is made once
        paths = {
            "organiser": f"/organise/{kind.comparison.id}/findings",
            "public": f"/r/{kind.comparison.slug}",
        }
        first = _seconds(partial(_page, client, paths["organiser"]))
        again = {page: _seconds(partial(_page, client, path)) for page, path in paths.items()}
        return Look(first, again, _seconds(partial(_counted, at, kind)))
    finally:
        close(app)


def _page(client: FlaskClient, path: str) -> None:
    answer = client.get(path)
    assert answer.status_code == 200, answer.status
    assert b"<article" in answer.data


def _counted(at: Workplace, kind: Kind) -> None:
    with at.units.read() as session:
        found = session.execute(COUNT, {"comparison": kind.comparison.id}).all()
    assert sum(count for _words, count in found) == kind.ballots


def _seconds(work: Callable[[], None]) -> float:
    begun = time.process_time()
    work()
    return time.process_time() - begun


def measured(fill: int) -> dict[str, dict[str, float | int]]:
    """Milliseconds of each kind and page, and what they are to the small one alone."""
    with (
        tempfile.TemporaryDirectory() as one,
        tempfile.TemporaryDirectory() as two,
        database("", Path(one)) as small,
        database("", Path(two)) as large,
    ):
        kinds = built(small, Path(one), {"alone": SMALL}, 0)
        kinds += built(large, Path(two), {"beside": SMALL, "largest": LARGEST}, fill)
        looks: dict[str, list[Look]] = {kind.name: [] for kind in kinds}
        for _ in range(TURNS):
            for kind in kinds:
                looks[kind.name].append(looked(kind))
    return {kind.name: _figures(kind, looks[kind.name], looks["alone"]) for kind in kinds}


def _figures(kind: Kind, looks: list[Look], alone: list[Look]) -> dict[str, float | int]:
    query = statistics.median(look.query for look in looks)
    figures: dict[str, float | int] = {"ballots": kind.ballots, "query, ms": _ms(query)}
    for name, page in (("first", ""), ("organiser", "organiser"), ("public", "public")):
        mine, theirs = (
            statistics.median(look.again[page] if page else look.first for look in some)
            for some in (looks, alone)
        )
        figures[f"{name}, ms"] = _ms(mine)
        figures[f"{name}, without the query, over alone"] = round((mine - query) / theirs, 2)
    return figures


def _ms(seconds: float) -> float:
    return round(seconds * 1000, 1)


def main() -> None:
    """Measures, prints a table and JSON."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--ballots", type=int, default=IN_ALL, help="in the large database")
    given = parser.parse_args()
    found = measured(given.ballots)
    for name, figures in found.items():
        print(f"\n{name}")  # noqa: T201
        for what, figure in figures.items():
            print(f"  {what:<48}{figure}")  # noqa: T201
    print(f"\nallowed: {ALLOWED}")  # noqa: T201
    print(json.dumps(found, indent=2))  # noqa: T201


if __name__ == "__main__":
    main()
