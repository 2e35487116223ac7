"""Every route, asked by everybody, at every standing, in every method: role × route × standing.

What must come of a cell is read from the program's own tables, written once each: who is let in
where (core.visibility.AUDIENCES), what is seen when (core.visibility.TABLE), what can be done when
(core.lifecycle.STEPS). Here stands only which route shows or does what. OWASP Application Security
Verification Standard 5.0.0, 8.2.1 to 8.2.3 and 2.3.1.
"""

import hashlib
import re
import sqlite3
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from panel import settings as settings_room
from panel.app import close, create_app, workplace_of
from panel.core.allocation.check_letter import card_number
from panel.core.comparison import Comparison
from panel.core.lifecycle import STEPS
from panel.core.names import Role, Standing
from panel.core.paper.payload import ref_of
from panel.core.visibility import AUDIENCES, Sight, may_see
from panel.services import (
    call_off,
    close_and_unseal,
    invite,
    keep_key,
    open_sitting,
    passwords,
    plan_comparison,
    publish,
    seal_comparison,
    sign_in,
    take_ballot,
)
from panel.services.seeded import seeded_entropy
from panel.services.workplace import Workplace
from panel.web import cookies
from panel.web.guards import SIGNED_IN, UNGUARDED, audience_of
from panel.web.limits import flood, limiter
from tests.builders import ORGANISER, START, Clock, answers, draft, sitting_draft, token, trays
from tests.readings import waiting_reading

PASSWORD = "heron lantern gravel spoon"
CALLED_OFF = "called off"
"""A comparison beside the standings: sealed, and its one sitting did not take place."""

SHOWS: dict[tuple[str, str], Sight] = {
    ("GET", "organiser_findings.page"): Sight.FINDINGS,
    ("GET", "organiser_findings.report"): Sight.FINDINGS,
    ("GET", "organiser_showing.page"): Sight.FINDINGS,
    ("GET", "steward.board"): Sight.BOARD,
    ("GET", "steward.trays"): Sight.ALL_CODES,
    ("GET", "steward_sheet.page"): Sight.BOARD,
    ("GET", "steward_sheet.empty"): Sight.BOARD,
    ("GET", "taster.ballot"): Sight.OWN_CODES,
    ("GET", "public.result"): Sight.SEAL,
    ("GET", "public.bundle"): Sight.FINDINGS,
    ("GET", "public.report"): Sight.FINDINGS,
    ("GET", "public.picture"): Sight.FINDINGS,
    ("GET", "public.file"): Sight.FINDINGS,
    ("POST", "pourer.mat"): Sight.POURING,
    ("POST", "pourer.sheet"): Sight.POURING,
    ("POST", "organiser_print.key_sheet"): Sight.POURING,
    ("POST", "keeper.sheet"): Sight.KEY,
}
"""Which route shows which sight to whoever it lets in."""

DOES: dict[str, str] = {
    "organiser_question.save": "edit",
    "organiser_check.seal": "seal",
    "organiser.open_one": "open sitting",
    "organiser.call_off_one": "call off sitting",
    "organiser.amend": "amend",
    "organiser.close": "close",
    "organiser_findings.publish_now": "publish",
    "organiser_showing.begin": "show to the room",
}
"""Which route does which step of core.lifecycle."""

SHEETS = {"pourer.sheet": "pour-sheet", "organiser_print.key_sheet": "pour-sheet",
          "keeper.sheet": "sealed-key", "organiser_print.sheet": "sign-in",
          "public.file": "findings.json"}  # fmt: skip
OF_TRAYS = frozenset({Sight.BOARD, Sight.ALL_CODES})
"""What a draft, which has no trays, has none of: its pages are empty."""

FILLED = {"what": "other", "reason": "The vessel broke.", "agreed": "yes"}
METHODS = ("GET", "POST", "PUT", "PATCH", "DELETE", "TRACE")


@dataclass
class Person:
    """Somebody with a browser: who they are to the program (None: nobody), and for which
    comparison alone if their pass is bound to one."""

    name: str
    role: Role | None
    client: FlaskClient
    bound: str | None = None
    signed_in: bool = False


@dataclass
class Stage:
    """One comparison at one standing, and everybody around it."""

    name: str
    standing: Standing
    known: Comparison
    values: dict[str, Any]
    people: list[Person] = field(default_factory=list)


@dataclass
class World:
    """The application with every stage."""

    app: Flask
    at: Workplace
    database: str
    stages: dict[str, Stage] = field(default_factory=dict)

    def digest(self) -> str:
        """Over every row of every table."""
        connection = sqlite3.connect(self.database)
        try:
            return hashlib.sha256("\n".join(connection.iterdump()).encode()).hexdigest()
        finally:
            connection.close()


@pytest.fixture(scope="module")
def world(tmp_path_factory: pytest.TempPathFactory) -> Iterator[World]:
    yield from made_world(tmp_path_factory.mktemp("matrix"))


def made_world(folder: Path) -> Iterator[World]:
    """The application on a database of its own, without limits, passwords cheap, all stages set."""
    database = folder / "panel.db"
    environment = {
        "PANEL_DATABASE_URL": f"sqlite:///{database}",
        "PANEL_ADDRESS": "http://localhost",
    }
    clock = Clock()
    clock.forward(hours=-30)
    settings = settings_room.load(environment, folder)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(passwords, "METHOD", "scrypt:1024:8:1")
        patch.setattr(limiter, "enabled", False)
        patch.setattr(flood, "enabled", False)
        app = create_app(settings, now=clock, entropy=seeded_entropy("matrix"))
        made = World(app, workplace_of(app), str(database))
        fill(made, clock)
        yield made
        close(app)


def fill(world: World, clock: Clock) -> None:
    """Every stage with its people; those whose time is over are made 30 hours before."""
    at = world.at
    names = [*Standing, CALLED_OFF]
    drafted = {}
    for name in names:
        known = plan_comparison.start_draft(at, ORGANISER, draft(title=f"At {name}"))
        plan_comparison.add_sitting(at, ORGANISER, known.id, sitting_draft(starts=START))
        drafted[name] = plan_comparison.comparison(at, ORGANISER, known.id)
    late = sign_in.set_up(at, sign_in.set_up_link(at), "Late", PASSWORD)
    old_links = {
        name: invite.invite(at, ORGANISER, one.id, one.sittings[0].id, Role.STEWARD)
        for name, one in drafted.items()
    }
    clock.forward(hours=30)
    first = sign_in.set_up(at, sign_in.set_up_link(at), "Robin", PASSWORD)
    second = sign_in.set_up(at, sign_in.set_up_link(at), "Wren", PASSWORD)
    ended = sign_in.sign_in(at, "Robin", PASSWORD)
    sign_in.sign_out(at, ended)
    keeper = ""
    elsewhere = plan_comparison.start_draft(at, ORGANISER, draft(title="Elsewhere"))
    plan_comparison.add_sitting(at, ORGANISER, elsewhere.id, sitting_draft())
    elsewhere = plan_comparison.comparison(at, ORGANISER, elsewhere.id)
    other = {role: opened(at, elsewhere, role) for role in (Role.STEWARD, Role.POURER)}
    for name, one in drafted.items():
        link = invite.invite(at, ORGANISER, one.id, one.sittings[0].id, Role.KEY_HOLDER)
        keeper = keep_key.take_up(at, link, "Keeper", PASSWORD)
        passes = {role: opened(at, one, role) for role in (Role.STEWARD, Role.POURER)}
        shut = opened(at, one, Role.STEWARD)
        newest = next(x for x in invite.invited(at, ORGANISER, one.id) if x.role is Role.STEWARD
                      and x.used and sign_in.person_of(at, shut).person == x.id)  # fmt: skip
        invite.revoke(at, ORGANISER, one.id, newest.id)
        bring_to(at, one, name)
        stage = staged(world, name, one.id, old_links[name])
        world.stages[name] = stage
        people = [
            ("nobody", None, {}), ("organiser", Role.ORGANISER, {cookies.SIGN_IN: first}),
            ("another organiser", Role.ORGANISER, {cookies.SIGN_IN: second}),
            ("expired sign-in", None, {cookies.SIGN_IN: late}),
            ("ended sign-in", None, {cookies.SIGN_IN: ended}),
            ("made-up sign-in", None, {cookies.SIGN_IN: "a" * 52}),
            ("steward", Role.STEWARD, {cookies.STEWARD: passes[Role.STEWARD]}),
            ("pourer", Role.POURER, {cookies.POURER: passes[Role.POURER]}),
            ("revoked steward", None, {cookies.STEWARD: shut}),
            ("steward elsewhere", Role.STEWARD, {cookies.STEWARD: other[Role.STEWARD]}),
            ("pourer elsewhere", Role.POURER, {cookies.POURER: other[Role.POURER]}),
            ("steward's pass as a sign-in", Role.STEWARD,
             {cookies.SIGN_IN: passes[Role.STEWARD]}),
            ("key holder", Role.KEY_HOLDER, {cookies.SIGN_IN: keeper}),
            ("taster", Role.TASTER, {cookies.TRAY: proof(world, stage)}),
            ("taster of another tray", None, {cookies.TRAY: proof(world, stage, "f" * 16)}),
        ]  # fmt: skip
        for who, role, held in people:
            client = world.app.test_client()
            for cookie, value in held.items():
                path = f"/t/{stage.values['ref']}" if cookie == cookies.TRAY else "/"
                client.set_cookie(cookie, value, path=path)
            bound = elsewhere.id if "elsewhere" in who else None
            stage.people.append(Person(who, role, client, bound, cookies.SIGN_IN in held))


def opened(at: Workplace, known: Comparison, role: Role) -> str:
    """The pass of a link that was opened."""
    return invite.accept(at, invite.invite(at, ORGANISER, known.id, known.sittings[0].id, role))


def bring_to(at: Workplace, known: Comparison, name: str) -> None:
    """Through the real services to a standing."""
    sitting = known.sittings[0].id
    reached = list(Standing).index(Standing.SEALED if name == CALLED_OFF else Standing(name))
    if reached >= 1:
        seal_comparison.seal(at, ORGANISER, known.id)
    if name == CALLED_OFF:
        call_off.call_off(at, ORGANISER, known.id, sitting)
    if reached >= 2:
        open_sitting.open_sitting(at, ORGANISER, known.id, sitting)
    if reached >= 3:
        for tray in trays(at, known):
            card = card_number(tray.number)
            given = answers(known, tray)
            take_ballot.take_keyed(at, ORGANISER, known.id, card, given, f"{tray.number:032}")
        open_sitting.close_sitting(at, ORGANISER, known.id, sitting)
        close_and_unseal.close(at, ORGANISER, known.id)
    if reached >= 4:
        publish.publish(at, ORGANISER, known.id)


def staged(world: World, name: str, comparison: str, link: str) -> Stage:
    known = plan_comparison.comparison(world.at, ORGANISER, comparison)
    sitting = known.sittings[0].id
    ref = "0" * 16
    if known.standing is not Standing.DRAFTED:
        ref = ref_of(token(world.at, known, trays(world.at, known)[0]))
        waiting_reading(world.at, known, trays(world.at, known)[0])
    values = {
        "comparison": known.id, "sitting": sitting, "slug": known.slug, "ref": ref, "number": 1,
        "link": "a" * 12, "name": "sign-in", "filename": "panel.css",
    }  # fmt: skip
    # A card's own address would open it for whoever asks: that door stands in test_door.
    values["tokens"] = {"door.card": "A" * 16, "door": link}
    return Stage(name, known.standing, known, values)


def proof(world: World, stage: Stage, ref: str = "") -> str:
    with world.app.test_request_context():
        return cookies.tray_proof(ref or stage.values["ref"])


def routes(app: Flask) -> list[tuple[str, frozenset[str], frozenset[str]]]:
    """Endpoint, its methods, its arguments."""
    return [
        (rule.endpoint, frozenset(rule.methods or ()), frozenset(rule.arguments))
        for rule in app.url_map.iter_rules()
    ]


def address(world: World, stage: Stage, endpoint: str, arguments: frozenset[str]) -> str:
    """A route's address with what belongs to the stage."""
    given = {name: stage.values.get(name) for name in arguments}
    if "name" in given:
        given["name"] = SHEETS.get(endpoint, "text")
    if "token" in given:
        tokens = stage.values["tokens"]
        given["token"] = tokens.get(endpoint, tokens["door"])
    methods = {one for name, ways, _ in routes(world.app) if name == endpoint for one in ways}
    method = "GET" if "GET" in methods else "POST"
    return world.app.url_map.bind("localhost").build(endpoint, given, method=method)


def ask(person: Person, method: str, path: str, **fields: str) -> TestResponse:
    """One request as a browser sends it from a page of ours."""
    sent = {"Origin": "http://localhost"} if method != "GET" else {}
    return person.client.open(path, method=method, headers=sent, data=fields or None)


def let_in(person: Person, endpoint: str) -> bool:
    """Whether the table of audiences lets somebody in."""
    audience = audience_of(endpoint.rpartition(".")[0])
    if audience == "taster":
        return person.role is Role.TASTER
    role = Role.MEMBER if person.role in (None, Role.TASTER) else person.role
    return role in AUDIENCES[audience]


def turned_away(person: Person, method: str, endpoint: str, answer: TestResponse) -> bool:
    """403, or the way to the door for whoever could have signed in."""
    if answer.status_code == 403:
        return True
    audience = audience_of(endpoint.rpartition(".")[0])
    to_door = answer.status_code == 302 and answer.headers["Location"].startswith("/sign-in")
    return to_door and method == "GET" and audience in SIGNED_IN


LOADED = re.compile(
    r"""<(?:link|base)\b[^>]*\shref="([^"]*)"|\s(?:src|srcset|action|formaction|poster|data)="([^"]*)\""""
    r"""|url\(([^)]*)\)|http-equiv="refresh"[^>]*content="([^"]*)\""""
)
IN_THE_PAGE = re.compile(r"<style|\sstyle=|\son[a-z]+=|javascript:|<script(?![^>]*\ssrc=)")


def loads(html: str) -> list[str]:
    """What a browser would fetch, or send to, because of a page."""
    return [next(filter(None, found), "") for found in LOADED.findall(html)]


def in_the_page(html: str) -> list[str]:
    """Scripts and styles within the page, which its policy forbids."""
    return IN_THE_PAGE.findall(html)


def ours(where: str) -> bool:
    """Whether an address stays on this service."""
    return where.startswith(("data:", "#", "?")) or where == "" or (
        where.startswith("/") and not where.startswith(("//", "/\\")))  # fmt: skip


@pytest.mark.parametrize(
    "html",
    ['<img src="https://counter.example/x.gif">', '<link rel="icon" href="//cdn.example/i">',
     '<form action="http://evil.example/">', '<p style="x"><b>url(https://a.example/f)</b>',
     '<meta http-equiv="refresh" content="0;https://a.example">'],
)  # fmt: skip
def test_what_would_be_fetched_from_elsewhere_is_seen(html: str) -> None:
    assert not all(ours(one) for one in loads(html))


@pytest.mark.parametrize("html", ["<script>go()</script>", '<p style="a">', '<a onclick="b()">'])
def test_a_script_within_a_page_is_seen(html: str) -> None:
    assert in_the_page(html)


STAGES = [*Standing, CALLED_OFF]


@pytest.mark.parametrize("name", STAGES)
def test_every_route_lets_in_whom_the_table_names_and_nobody_else(world: World, name: str) -> None:
    """Looking changes nothing, and what is refused writes nothing. Forms go without their token:
    whoever is let in is told that the page is old, which is the step after the guard."""
    stage = world.stages[name]
    before = world.digest()
    cells = 0
    for endpoint, methods, arguments in routes(world.app):
        if endpoint in UNGUARDED:
            continue
        path = address(world, stage, endpoint, arguments)
        for person in stage.people:
            for method in sorted(methods & {"GET", "POST"}):
                answer = ask(person, method, path)
                cell = f"{method} {path} by {person.name}: {answer.status_code}"
                assert answer.status_code < 500, cell
                if not let_in(person, endpoint):
                    assert turned_away(person, method, endpoint, answer), cell
                elif method == "POST":
                    early = endpoint in DOES and stage.standing not in STEPS[DOES[endpoint]].sources
                    refused = (400, 404, 409, 403 if person.bound or early else 400)
                    assert answer.status_code in refused, cell
                elif person.bound and endpoint.startswith("steward"):
                    assert answer.status_code == 403, cell
                if answer.mimetype == "text/html":
                    html = answer.get_data(as_text=True)
                    assert [one for one in loads(html) if not ours(one)] == [], cell
                    assert in_the_page(html) == [], cell
                answer.close()
                cells += 1
    assert cells > 1_000
    assert world.digest() == before


@pytest.mark.parametrize("name", STAGES)
def test_what_is_shown_is_what_the_table_lets_be_seen(world: World, name: str) -> None:
    """Each sight, by each role that comes to its page, at each standing."""
    stage = world.stages[name]
    arguments = {endpoint: given for endpoint, _, given in routes(world.app)}
    seen = refused = 0
    for (method, endpoint), sight in SHOWS.items():
        path = address(world, stage, endpoint, arguments[endpoint])
        for person in stage.people:
            if person.role is None and not endpoint.startswith("public"):
                continue
            if not let_in(person, endpoint):
                continue
            role = person.role or Role.MEMBER
            role = Role.MEMBER if endpoint.startswith("public") else role
            may = may_see(role, sight, stage.standing, stage.known.blinding)
            may = may and not (person.bound and role is not Role.MEMBER)
            if stage.standing is Standing.DRAFTED and sight in OF_TRAYS:
                continue
            fields = {"csrf_token": form_token(person)} if method == "POST" else {}
            before = world.digest()
            answer = ask(person, method, path, **fields)
            cell = f"{method} {path} by {person.name}: {answer.status_code}"
            assert (answer.status_code == 200) is may, cell
            if not may:
                assert answer.status_code in (302, 403, 404, 409), cell
                assert world.digest() == before, cell
            answer.close()
            seen, refused = seen + may, refused + (not may)
    assert seen + refused > 15
    assert refused > 0


@pytest.mark.parametrize("name", STAGES)
def test_no_step_is_taken_out_of_its_turn(world: World, name: str) -> None:
    """Whatever core.lifecycle does not allow at a standing is refused, and writes nothing."""
    stage = world.stages[name]
    arguments = {endpoint: given for endpoint, _, given in routes(world.app)}
    organiser = next(one for one in stage.people if one.name == "organiser")
    before = world.digest()
    tried = 0
    for endpoint, step in DOES.items():
        if stage.standing in STEPS[step].sources:
            continue
        path = address(world, stage, endpoint, arguments[endpoint])
        answer = ask(organiser, "POST", path, csrf_token=form_token(organiser), **FILLED)
        assert answer.status_code in (403, 409), f"{endpoint}: {answer.status_code}"
        tried += 1
    assert tried >= 2
    assert world.digest() == before


def test_no_other_method_is_taken_anywhere(world: World) -> None:
    """405, or 403 for whoever may not even ask; TRACE answers nowhere."""
    stage = world.stages[Standing.SERVING]
    before = world.digest()
    for endpoint, _, arguments in routes(world.app):
        path = address(world, stage, endpoint, arguments)
        there = world.app.url_map.bind("localhost").allowed_methods(path)
        for person in stage.people[:2]:
            for method in METHODS:
                if method in there:
                    continue
                answer = ask(person, method, path)
                assert answer.status_code in (403, 405), f"{method} {path}"
    assert world.digest() == before


def form_token(person: Person) -> str:
    """A form's token, good for every form of this browser."""
    page = person.client.get("/card").get_data(as_text=True)
    return page.split('name="csrf_token"')[1].split('value="')[1].split('"')[0]
