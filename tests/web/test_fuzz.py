"""Every form and upload, filled in at random: no defect, nothing written on refusal, nothing lost.

The same examples on every run (tests/conftest.py). A form is refused in one of the ways that
web.errors knows; whatever the status, no page has a trace in it. OWASP Application Security
Verification Standard 5.0.0, 2.2.1, 5.2.1, 15.3.3 and 16.5.1.
"""

import io
import re
import sqlite3
import string
import struct
import time
import warnings
import zlib
from collections.abc import Callable, Iterator
from contextlib import closing

import pytest
from flask import Flask
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from werkzeug.test import TestResponse

from panel.app import LARGEST_REQUEST
from panel.core.names import Standing
from panel.web.errors import STATUS
from panel.web.forms import NOT_KEPT
from panel.web.guards import UNGUARDED
from tests.web.guest import Page
from tests.web.test_matrix import (
    Person,
    World,
    address,
    form_token,
    let_in,
    made_world,
    routes,
)

EXAMPLES = 12
REFUSED = {*STATUS.values(), 400, 413, 429} - {503}

NASTY = (
    "", " ", "0", "-1", "1e309", "nan", "٣", "9" * 40, "yes", "on", "A", "B", "triangle",
    "' OR 1=1 --", '"; DROP TABLE ballot; --', "<script>alert(1)</script>", "{{7*7}}", "${7*7}",
    "%s%n%(x)s", "../../etc/passwd", "=HYPERLINK(1)", "\x00", "\r\nSet-Cookie: a=b", "\u202e",
    "🍺" * 9,
    "2027-03-14", "2027-02-30T25:61", "Europe/London", "Europe/../London", "\ud7ff", "a" * 5_000,
)  # fmt: skip
WORDS = st.one_of(
    st.sampled_from(NASTY),
    st.text(max_size=30),
    st.text(string.digits + ".,-", max_size=8),
    st.integers(0, 50).map(str),
)


@pytest.fixture(scope="module")
def world(tmp_path_factory: pytest.TempPathFactory) -> Iterator[World]:
    yield from made_world(tmp_path_factory.mktemp("fuzz"))


@pytest.fixture(scope="module")
def begin_again(world: World) -> Iterator[Callable[[], None]]:
    """Puts every stage and every browser back to how they were made, or a form that was taken once
    (a draft sealed, a sitting closed, a card forgotten) would shut those that come after it."""
    browsers = [(one.client, dict(one.client._cookies)) for stage in world.stages.values()
                for one in stage.people]  # fmt: skip
    with closing(sqlite3.connect(":memory:")) as kept:
        with closing(sqlite3.connect(world.database)) as there:
            there.backup(kept)

        def begin() -> None:
            with closing(sqlite3.connect(world.database)) as there:
                kept.backup(there)
            for client, cookies in browsers:
                client._cookies = dict(cookies)

        yield begin


def forms(app: Flask) -> list[tuple[str, frozenset[str]]]:
    """Endpoint and arguments of everything that takes a POST."""
    return [
        (endpoint, arguments)
        for endpoint, methods, arguments in routes(app)
        if "POST" in methods and endpoint not in UNGUARDED
    ]


ENDPOINTS = [
    "door.open_pass", "door_password.change", "door.set_up", "door.short_code",
    "door.sign_in_now", "door.take_up",
    "keeper.close", "keeper.lock", "keeper.open_one", "keeper.recover", "keeper.sheet",
    "keeper.take_off", "organiser.amend", "organiser.call_off_one", "organiser.close",
    "organiser.close_one", "organiser.open_one", "organiser.set_aside_rest",
    "organiser_check.seal", "organiser_check.take_method", "organiser_emergency.open_one",
    "organiser_findings.publish_now", "organiser_links.make", "organiser_links.revoke",
    "organiser_print.again", "organiser_print.everything", "organiser_print.key_sheet",
    "organiser_printer.correct", "organiser_question.save", "organiser_question.start",
    "organiser_recover.recover", "organiser_settle.settle", "organiser_showing.begin",
    "organiser_sittings.add", "organiser_sittings.remove", "organiser_sittings.save",
    "pourer.mat", "pourer.sheet",
    "steward.hand_out", "steward.key_in", "steward.name", "steward.set_aside",
    "steward.take_back", "steward_photos.take", "steward_review.decide", "steward_sheet.take",
    "taster.leave", "taster.open_own", "taster.send", "taster.step",
]  # fmt: skip
PRESSED_ONLY = frozenset({"door.sign_out"})
"""Forms without a field: there is nothing to fill in."""
COUNTS_TRIES = frozenset({"door.sign_in_now"})
"""What is refused here is noted on purpose."""


def test_every_form_is_filled_in(world: World) -> None:
    assert {endpoint for endpoint, _ in forms(world.app)} == {*ENDPOINTS, *PRESSED_ONLY}


def check(world: World, before: str, answer: TestResponse, sent: dict[str, str]) -> None:
    """What holds of every answer; and of a refusal, that nothing was written or lost."""
    assert answer.status_code < 500
    body = answer.get_data()
    assert b"Traceback" not in body
    assert b"sqlalchemy" not in body
    if answer.status_code >= 400:
        assert answer.status_code in REFUSED
        assert before == "" or world.digest() == before
    if answer.status_code == 422 and answer.mimetype == "text/html":
        page = Page(answer)
        back: dict[str, list[str]] = {}
        for form in page.forms:
            for name, value in form.fields:
                back.setdefault(name, []).append(plain(value))
        for name in set(sent) & typed_into(page.html):
            assert plain(sent[name]) in back[name], name


TYPED_INTO = re.compile(
    r'<(?:input(?![^>]*\stype="(?:hidden|radio|checkbox|password|file)")|textarea)'
    r'[^>]*\sname="([^"]+)"'
)


def typed_into(html: str) -> set[str]:
    """Names of a page's fields that take any text; of lists and boxes only what is offered can be
    kept, and passwords never are."""
    return {name for name in TYPED_INTO.findall(html) if not name.startswith(NOT_KEPT)}


def plain(value: str) -> str:
    """A text as a browser reads it back: line breaks are one, what HTML cannot hold is gone."""
    return "".join(one for one in value.replace("\r", "").strip() if one.isprintable()).strip()


@pytest.fixture(scope="module")
def known_fields(
    world: World, begin_again: Callable[[], None]
) -> dict[tuple[str, str], dict[str, str]]:
    """(stage, endpoint) to the fields of the form that a page sends there, as it stands."""
    begin_again()
    found: dict[tuple[str, str], dict[str, str]] = {}
    for stage in world.stages.values():
        at = {
            address(world, stage, endpoint, given): endpoint for endpoint, given in forms(world.app)
        }
        for person in stage.people:
            for endpoint, methods, values in routes(world.app):
                if "GET" not in methods or endpoint in UNGUARDED or person.role is None:
                    continue
                if endpoint.endswith(("sheet", "ruler", "typeface")):
                    continue
                answer = person.client.get(address(world, stage, endpoint, values))
                for form in Page(answer).forms if answer.mimetype == "text/html" else ():
                    to = at.get(form.action.split("?")[0].removeprefix("http://localhost"))
                    if to is not None:
                        fields = {name: "" for name, _ in form.offered} | dict(form.fields)
                        found.setdefault((stage.name, to), {}).update(fields)
                answer.close()
    return found


STAGED = [Standing.DRAFTED, Standing.SEALED, Standing.SERVING, Standing.CLOSED]


def test_whoever_has_left_is_back_for_the_next_example(
    world: World, begin_again: Callable[[], None]
) -> None:
    """Or the ballot's own forms would be met by a shut door, and nothing be tried."""
    begin_again()
    stage = world.stages[Standing.SERVING]
    taster = next(one for one in stage.people if one.name == "taster")
    leave, step = (
        address(world, stage, f"taster.{name}", frozenset({"ref"})) for name in ("leave", "step")
    )
    found = [post(taster, path, {"csrf_token": form_token(taster)}) for path in (leave, step)]
    assert [one.status_code for one in found] == [302, 403]
    begin_again()
    assert post(taster, step, {"csrf_token": form_token(taster)}).status_code == 422


@pytest.mark.parametrize("endpoint", ENDPOINTS)
@settings(max_examples=EXAMPLES, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data())
def test_a_form_filled_in_at_random(
    world: World,
    begin_again: Callable[[], None],
    known_fields: dict[tuple[str, str], dict[str, str]],
    endpoint: str,
    data: st.DataObject,
) -> None:
    begin_again()
    stage = world.stages[data.draw(st.sampled_from(STAGED))]
    person = next(
        one
        for one in reversed(stage.people)
        if one.role and not one.bound and let_in(one, endpoint)
    )
    fields = known_fields.get((stage.name, endpoint), {})
    names = sorted({*fields, "role", "id", "product_id", "answer-odd"} - {"csrf_token"})
    wild = data.draw(st.dictionaries(st.sampled_from(names), WORDS, min_size=1, max_size=6))
    sent = {**fields, **wild, "csrf_token": form_token(person)}
    if data.draw(st.integers(0, 9)) == 0:
        sent = {**wild, "csrf_token": sent["csrf_token"]}
    before = "" if endpoint in COUNTS_TRIES else world.digest()
    path = address(world, stage, endpoint, dict(forms(world.app))[endpoint])
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", ResourceWarning)
        answer = post(person, path, sent)
        check(world, before, answer, sent)
        answer.close()


def post(person: Person, path: str, fields: dict[str, object]) -> TestResponse:
    return person.client.post(path, data=fields, headers={"Origin": "http://localhost"})


SEARCHES = {
    "/archive": ("words", "drink", "method", "page"),
    "/archive/side-by-side": ("variable", "drink"),
}
"""Forms that ask with GET, and their fields."""


@pytest.mark.parametrize("path", SEARCHES)
@settings(max_examples=EXAMPLES, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data())
def test_a_search_filled_in_at_random(world: World, path: str, data: st.DataObject) -> None:
    """It finds something or nothing, and writes nothing."""
    nobody = world.stages[Standing.PUBLISHED].people[0]
    words = st.one_of(WORDS, st.sampled_from(["beer", "fermentation warmth", "triangle"]))
    sent = data.draw(st.dictionaries(st.sampled_from(SEARCHES[path]), words))
    before = world.digest()
    answer = nobody.client.get(path, query_string=sent)
    check(world, before, answer, sent)
    assert answer.status_code in (200, 404)
    assert world.digest() == before
    answer.close()


# --- uploads -------------------------------------------------------------------------------------


def png(width: int, height: int, *chunks: tuple[bytes, bytes]) -> bytes:
    """A PNG by its head alone, of any size it cares to claim, and further chunks."""
    head = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    parts = [(b"IHDR", head), *chunks, (b"IEND", b"")]
    made = [
        struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))
        for kind, body in parts
    ]
    return b"\x89PNG\r\n\x1a\n" + b"".join(made)


BOMB = png(60_000, 60_000, (b"IDAT", zlib.compress(b"\0" * 1_000_000)))
PICTURE = png(64, 64, (b"IDAT", zlib.compress(b"\0" * 65 * 64)))
FILES = st.one_of(
    st.binary(max_size=2_000),
    st.sampled_from([BOMB, PICTURE, b"", b"GIF89a" + b"\0" * 90, b"<svg onload='x()'/>",
                     b"MZ" + b"\0" * 90, b"%PDF-1.7\n%%EOF", b"PK\3\4" + b"\0" * 90,
                     b"SIMPLE  =                    T" + b" " * 2_850]),
    st.builds(lambda at, to: PICTURE[:at] + bytes([to]) + PICTURE[at + 1:],
              st.integers(0, len(PICTURE) - 1), st.integers(0, 255)),
    st.integers(0, len(PICTURE)).map(lambda end: PICTURE[:end]),
    st.integers(0, 5).map(lambda deep: b"%PDF-1.7\n1 0 obj" + b"<</A" * 10 ** deep),
)  # fmt: skip
NAMES = st.sampled_from(["card.png", "../../x.png", "card.php", "=1.pdf", "a\r\nb.jpg", "\0.png"])


@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=FILES, name=NAMES)
def test_an_upload_of_anything(world: World, data: bytes, name: str) -> None:
    """It is refused in words, or read and nothing found: no example is a filled-in card."""
    stage = world.stages[Standing.SERVING]
    steward = next(one for one in stage.people if one.name == "steward")
    path = f"/steward/{stage.values['comparison']}/{stage.values['sitting']}/photos"
    before = world.digest()
    files = len(list(world.at.settings.instance.rglob("*")))
    begun = time.monotonic()
    fields = {"csrf_token": form_token(steward), "pictures": (io.BytesIO(data), name)}
    answer = post(steward, path, fields)
    assert answer.status_code in (200, 400, 413, 422)
    assert b"Traceback" not in answer.data
    assert world.digest() == before
    assert len(list(world.at.settings.instance.rglob("*"))) == files  # nothing is kept of it
    assert time.monotonic() - begun < 10


def test_more_than_the_largest_upload_is_refused(world: World) -> None:
    stage = world.stages[Standing.SERVING]
    steward = next(one for one in stage.people if one.name == "steward")
    path = f"/steward/{stage.values['comparison']}/{stage.values['sitting']}/photos"
    large = b"--x\r\nContent-Disposition: form-data; name=pictures; filename=a\r\n\r\n"
    answer = steward.client.post(
        path,
        data=large + b"\0" * LARGEST_REQUEST,
        content_type="multipart/form-data; boundary=x",
        headers={"Origin": "http://localhost"},
    )
    assert answer.status_code == 413
