"""Everything that can be got of an evening, kept under a name of its own, and who is blind to it.

An artefact is one answer of the application (status, headers with their cookies, body, and the
statements it made the database work for), one sheet of the kit (file name and bytes), or what lies
behind (log, database). Two evenings that walk the same way give the same names; `differences` says
where a reader who is blind could tell the two apart.
"""

import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any

from flask import Flask
from sqlalchemy import event as database_event
from sqlalchemy import select
from werkzeug.exceptions import HTTPException

from panel.core.names import Blinding, Role, Standing
from panel.core.visibility import Sight, may_see
from panel.services.workplace import Workplace
from panel.store.base import Base
from tests.web.guest import Guest, Page


class Reader(StrEnum):
    """Whoever gets hold of an artefact."""

    TASTER = "taster"
    VOTER = "voter"  # a taster whose own ballot the artefact shows
    STEWARD = "steward"
    POURER = "pourer"
    MEMBER = "member"
    ORGANISER = "organiser"  # their screens and sheets, but for those that show the key
    KEY_HOLDER = "key-holder"
    OPERATOR = "operator"  # reads the log of the machine
    COPIER = "copier"  # got hold of the database or a backup of it


ROLES = {
    Reader.TASTER: Role.TASTER,
    Reader.VOTER: Role.TASTER,
    Reader.STEWARD: Role.STEWARD,
    Reader.POURER: Role.POURER,
    Reader.MEMBER: Role.MEMBER,
    Reader.OPERATOR: Role.MEMBER,
}
"""The role whose sights a reader has; the others are spoken of one by one in `is_blind`."""


class Stage(StrEnum):
    """Where an evening stands; `ended`: the sitting is closed, the comparison not yet."""

    DRAFTED = "drafted"
    SEALED = "sealed"
    SERVING = "serving"
    ENDED = "ended"
    CLOSED = "closed"
    PUBLISHED = "published"

    @property
    def standing(self) -> Standing:
        """The comparison's standing."""
        return Standing.SERVING if self is Stage.ENDED else Standing(self.value)


class Changed(StrEnum):
    """What one evening has otherwise than the other."""

    NAMES = "names"  # which beer is which letter
    ORDERS = "orders"  # which cup holds which letter
    BOTH = "both"
    LOTS = "lots"  # who is told at a split sitting
    TOLD = "told"  # whether the sitting is told what was changed
    ANSWERS = "answers"  # what the ballots say


@dataclass(frozen=True)
class Artefact:
    """One thing that `reader` gets at `stage`: `head` is status and headers, or a file name."""

    reader: Reader
    stage: Stage
    name: str
    head: tuple[str, ...]
    body: bytes
    work: tuple[str, ...] = ()

    @property
    def is_sheet(self) -> bool:
        """Whether it is of paper."""
        return self.body.startswith(b"%PDF-")

    @property
    def title(self) -> str:
        """The name under which it is looked for in the other evening."""
        return f"{self.stage} · {self.reader} · {self.name}"


Visit = tuple[Reader, str, str]
"""Reader, endpoint and method."""


@dataclass
class Album:
    """The artefacts of one evening in the order in which they were got, and where people were."""

    stage: Stage = Stage.DRAFTED
    kept: dict[str, Artefact] = field(default_factory=dict)
    visited: set[Visit] = field(default_factory=set)
    _counted: dict[tuple[Stage, Reader], int] = field(default_factory=dict)

    def keep(
        self,
        reader: Reader,
        name: str,
        head: Iterable[str],
        body: bytes,
        work: Iterable[str] = (),
    ) -> None:
        """One more artefact of this stage; its place among the reader's stands in its name."""
        place = self._counted.get((self.stage, reader), 0) + 1
        self._counted[self.stage, reader] = place
        one = Artefact(reader, self.stage, f"{place:03} {name}", tuple(head), body, tuple(work))
        self.kept[one.title] = one

    def of(self, *readers: Reader) -> list[Artefact]:
        """The artefacts of these readers."""
        return [one for one in self.kept.values() if one.reader in readers]


class Statements:
    """What a database was asked, in words without values: the work that an answer took."""

    def __init__(self, at: Workplace) -> None:
        self._asked: list[str] = []
        database_event.listen(at.units.engine, "before_cursor_execute", self._note)

    def take(self) -> tuple[str, ...]:
        """Everything since it was taken last."""
        asked, self._asked = self._asked, []
        return tuple(asked)

    def _note(self, _connection: Any, _cursor: Any, statement: str, *_rest: Any) -> None:
        self._asked.append(statement)


class Unread(Page):
    """A page that is read when somebody asks what is on it: most are only kept."""

    def read(self, html: str) -> None:
        self.unread = html

    def __getattr__(self, name: str) -> Any:
        html = self.__dict__.pop("unread", None)
        if html is None:
            raise AttributeError(name)
        super().read(html)
        return getattr(self, name)


class Visitor(Guest):
    """Somebody whose every answer goes into the album, each step of a redirection too."""

    def __init__(self, app: Flask, album: Album, reader: Reader, statements: Statements) -> None:
        super().__init__(app)
        self.reader = reader
        self._app = app
        self.album = album
        self._statements = statements

    def get(self, path: str, follow: bool = True, **headers: str) -> Page:
        self._statements.take()
        return self._kept("GET", Unread(self.client.get(path, headers=headers)), follow)

    def post(
        self, path: str, fields: list[tuple[str, str]], follow: bool = True, **headers: str
    ) -> Page:
        self._statements.take()
        page = super().post(path, fields, follow=False, **headers)
        return self._kept("POST", page, follow)

    def _kept(self, method: str, page: Page, follow: bool) -> Page:
        endpoint = endpoint_of(self._app, page.path, method)
        self.album.visited.add((self.reader, endpoint, method))
        opened_a_card = endpoint.startswith("taster.") and self.reader is not Reader.VOTER
        self.album.keep(
            Reader.TASTER if opened_a_card else self.reader,
            f"{method} {endpoint}",
            (page.response.status, *(_header(*line) for line in page.response.headers)),
            page.response.get_data(),
            self._statements.take(),
        )
        if follow and page.status in (301, 302, 303, 307, 308):
            return self.get(page.response.headers["Location"])
        return page


OF_THE_WALL = re.compile(r"(?<=Expires=)[^;]+(?=; Max-Age=)")
"""In a cookie that is kept for a while: the framework reckons its end from the clock on the wall,
not from the one that is given to the application. The while itself, Max-Age, is compared."""


def _header(name: str, word: str) -> str:
    """A header as it is compared; what comes from the wall's clock has a constant instead."""
    if name == "Date":  # added to files that are sent, likewise from the wall
        return f"{name}: (now)"
    return f"{name}: {OF_THE_WALL.sub('(then)', word)}"


def endpoint_of(app: Flask, path: str, method: str) -> str:
    """The endpoint that answers at a path; "nowhere" where there is none."""
    try:
        endpoint, _values = app.url_map.bind("localhost").match(path, method=method)
    except HTTPException:
        return "nowhere"
    return str(endpoint)


# --- what lies behind ----------------------------------------------------------------------------

SHUT = {("seal", "ciphertext"), ("person", "password")}
"""Tables and columns left out: one is opaque and different for every key, the other is salted with
the machine's own chance and says nothing of a comparison."""


def dump(at: Workplace) -> bytes:
    """All rows of all tables as text, as whoever copies the database could read them."""
    lines: list[str] = []
    with at.units.read() as session:
        for table in Base.metadata.sorted_tables:
            columns = [one for one in table.columns if (table.name, one.name) not in SHUT]
            rows = session.execute(select(*columns).order_by(*table.primary_key.columns))
            lines += [f"{table.name} {tuple(row)!r}" for row in rows]
    return "\n".join(lines).encode()


# --- who is blind --------------------------------------------------------------------------------


def is_blind(one: Artefact, level: Blinding, changed: Changed) -> bool:
    """Whether this reader must not be able to tell two evenings apart that differ in `changed`.

    For people the table of sights decides; for those whom it does not know, the sentences here.
    """
    if changed is Changed.BOTH:
        return all(is_blind(one, level, part) for part in (Changed.NAMES, Changed.ORDERS))
    standing = one.stage.standing
    shut = standing not in (Standing.CLOSED, Standing.PUBLISHED)
    match one.reader:
        case Reader.KEY_HOLDER:
            return False
        case Reader.ORGANISER:  # chose names and words; their screens never show what was drawn
            return shut and changed in (Changed.ORDERS, Changed.LOTS, Changed.ANSWERS)
        case Reader.COPIER:  # reads names, words and ballots, and what was drawn is shut
            return shut and changed in (Changed.ORDERS, Changed.LOTS)
        case Reader.VOTER if changed is Changed.ANSWERS:
            return False
        case Reader.TASTER | Reader.VOTER if changed in (Changed.TOLD, Changed.LOTS):
            return shut and one.is_sheet  # their phones tell them, their cards and cups nothing
        case Reader.STEWARD if changed is Changed.TOLD:
            # Page and board of an informed sitting have what its steward reads aloud.
            return shut and not one.is_sheet and not one.name.endswith("GET steward.board")
    return not _sees(ROLES[one.reader], standing, level, changed)


def _sees(role: Role, standing: Standing, level: Blinding, changed: Changed) -> bool:
    def sees(*sights: Sight) -> bool:
        return any(may_see(role, sight, standing, level) for sight in sights)

    if sees(Sight.KEY, Sight.OWN_RESULT, Sight.FINDINGS):
        return True
    match changed:
        case Changed.NAMES:
            return sees(Sight.PLAN) or (sees(Sight.POURING) and level is not Blinding.TRIPLE)
        case Changed.ORDERS:
            return sees(Sight.POURING)
        case Changed.ANSWERS:
            return sees(Sight.BALLOTS)
        case _:
            return sees(Sight.PLAN)


def tells_a_length(difference: str) -> bool:
    """Whether a difference is one of length, as whoever watches the network can see it."""
    return difference.endswith(" bytes") or "Content-Length" in difference


# --- comparing -----------------------------------------------------------------------------------


def differences(
    one: Mapping[str, Artefact], other: Mapping[str, Artefact], blind: Callable[[Artefact], bool]
) -> list[str]:
    """Where blind readers could tell two evenings apart, in words; [] is what is asked for."""
    found: list[str] = []
    for title, here in one.items():
        if not blind(here):
            continue
        there = other.get(title)
        if there is None:
            found.append(f"{title}: only one of the evenings has it")
        else:
            found += [f"{title}: {what}" for what in _differing(here, there)]
    found += [
        f"{title}: only the other evening has it"
        for title, there in other.items()
        if title not in one and blind(there)
    ]
    return found


def _differing(here: Artefact, there: Artefact) -> Iterator[str]:
    for line, other in zip(here.head, there.head, strict=False):
        if line != other:
            yield f"“{line}” and “{other}”"
    if len(here.head) != len(there.head):
        yield f"{len(here.head)} and {len(there.head)} lines of head"
    if len(here.body) != len(there.body):
        yield f"{len(here.body)} and {len(there.body)} bytes"
    if here.body != there.body:
        place = next(
            (at for at, pair in enumerate(zip(here.body, there.body, strict=False))
             if pair[0] != pair[1]),
            min(len(here.body), len(there.body)),
        )  # fmt: skip
        parts = (body[max(0, place - 60) : place + 60] for body in (here.body, there.body))
        yield "at byte {}: {!r} and {!r}".format(place, *parts)
    if here.work != there.work:
        yield f"{len(here.work)} and {len(there.work)} statements of work, or other ones"
