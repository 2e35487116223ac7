"""Headers on every answer, where forms may come from, and that looking changes nothing.

Targets: OWASP Application Security Verification Standard 5.0.0, chapters 3 and 7; the OWASP
cheat sheet on cross-site request forgery (token and Origin check).
"""

import hashlib
import sqlite3
from collections.abc import Iterator
from pathlib import Path

import pytest
from flask import Flask, request

from panel import settings as settings_room
from panel.app import close, create_app
from panel.core.names import Role
from panel.core.paper.payload import tray_tokens
from panel.services import invite, sign_in
from panel.services.workplace import Workplace
from panel.web import cookies
from tests.builders import ORGANISER, Clock, serving, token, trays
from tests.web.conftest import PASSWORD, with_pass
from tests.web.guest import ORIGIN, Guest, Page

POLICY = {
    "default-src 'self'",
    "object-src 'none'",
    "base-uri 'none'",
    "frame-ancestors 'none'",
    "form-action 'self'",
}


def check_headers(page: Page, kept: bool = False) -> None:
    headers = page.response.headers
    assert set(headers["Content-Security-Policy"].split("; ")) >= POLICY
    assert "unsafe" not in headers["Content-Security-Policy"]
    assert headers["X-Content-Type-Options"] == "nosniff"
    assert headers["Referrer-Policy"] == "same-origin"
    assert ("no-store" in headers["Cache-Control"]) is not kept
    assert "Strict-Transport-Security" not in headers  # this one is plain http


def crawled(guest: Guest, start: str) -> Iterator[Page]:
    """Every page that can be reached by links."""
    todo, seen = [start], set()
    while todo:
        path = todo.pop()
        if path in seen or not path.startswith("/"):
            continue
        seen.add(path)
        page = guest.get(path)
        yield page
        page.response.close()
        todo += [link.split("#")[0] for link in page.links if link.split("#")[0]]


def people(app: Flask, at: Workplace, organiser: Guest) -> dict[str, tuple[Guest, str]]:
    """Somebody of every audience, and the page they start from."""
    known = serving(at)
    ids = f"{known.id}/{known.sittings[0].id}"
    card = token(at, known, trays(at, known)[0])
    return {
        "organiser": (organiser, f"/organise/{known.id}"),
        "steward": (with_pass(app, at, known, Role.STEWARD), f"/steward/{ids}"),
        "pourer": (with_pass(app, at, known, Role.POURER), f"/pourer/{ids}"),
        "taster": (Guest(app), f"/{card}"),
        "member": (Guest(app), "/"),
        "seal": (Guest(app), f"/r/{known.slug}"),
    }


def test_every_page_and_every_error_has_its_headers(
    app: Flask, at: Workplace, organiser: Guest
) -> None:
    pages = 0
    for guest, start in people(app, at, organiser).values():
        for page in crawled(guest, start):
            assert page.status < 400, page.path
            check_headers(page)
            pages += 1
    assert pages > 15
    guest = Guest(app)
    for path in ("/nope", "/ABCDEFGHIJKLMNOP", "/t/0123456789abcdef", "/sign-out"):
        page = guest.get(path)
        assert page.status in (403, 404, 405)
        check_headers(page)
    check_headers(guest.post("/sign-in", [("name", "x")]))


def test_a_defect_of_ours_is_told_without_its_trace(
    app: Flask, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails(*_given: object) -> None:
        raise ZeroDivisionError("secret detail")

    monkeypatch.setattr("panel.services.publish.published", fails)
    page = Guest(app).get("/")
    assert page.status == 500
    assert "nothing half-done was saved" in page.text
    assert "secret detail" not in page.html
    assert "Traceback" not in page.html
    check_headers(page)


def test_debugging_is_never_on(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, sqlite_url: str
) -> None:
    monkeypatch.setenv("FLASK_DEBUG", "1")
    (tmp_path / "one").mkdir()
    environment = {"PANEL_DATABASE_URL": sqlite_url, "PANEL_ADDRESS": "http://localhost"}
    made = create_app(settings_room.load(environment, tmp_path / "one"))
    close(made)
    assert made.debug is False


def test_files_that_are_the_same_for_all_are_kept(app: Flask) -> None:
    guest = Guest(app)
    front = guest.get("/")
    style = next(part for part in front.html.split('"') if "panel.css?v=" in part)
    for path in (style, "/type/text.ttf"):
        page = guest.get(path)
        check_headers(page, kept=True)
        assert "immutable" in page.response.headers["Cache-Control"]
        page.response.close()


def test_a_typeface_is_packed_where_it_can_be_unpacked(app: Flask) -> None:
    guest = Guest(app)
    plain = guest.client.get("/type/title.ttf")
    packed = guest.client.get("/type/title.ttf", headers={"Accept-Encoding": "gzip"})
    assert packed.headers["Content-Encoding"] == "gzip"
    assert len(packed.data) < 0.6 * len(plain.data)
    assert guest.get("/type/other.ttf").status == 404


# --- looking changes nothing ---------------------------------------------------------------------


def contents(path: str) -> str:
    """A digest over every row of every table."""
    connection = sqlite3.connect(path)
    try:
        return hashlib.sha256("\n".join(connection.iterdump()).encode()).hexdigest()
    finally:
        connection.close()


def test_no_get_writes_a_row(app: Flask, at: Workplace, organiser: Guest, sqlite_url: str) -> None:
    everybody = people(app, at, organiser)
    link = invite.invite(
        at, ORGANISER, everybody["organiser"][1].split("/")[-1],
        everybody["steward"][1].split("/")[-1], Role.STEWARD,
    )  # fmt: skip
    database = sqlite_url.removeprefix("sqlite:///")
    before = contents(database)
    sheets = 0
    for guest, start in everybody.values():
        for page in crawled(guest, start):
            assert page.status < 400
            sheets += page.path.endswith(".pdf")
    assert sheets > 3
    for path in (f"/in/{link}", "/set-up/" + "a" * 52, "/card", "/sign-in"):
        Guest(app).get(path)
    assert contents(database) == before


# --- where a form may come from ------------------------------------------------------------------

FOREIGN = ("http://evil.example", "http://localhost:8001", "https://localhost", "null", "")


@pytest.mark.parametrize("origin", FOREIGN)
def test_a_form_from_elsewhere_is_refused_even_with_its_token(app: Flask, origin: str) -> None:
    guest = Guest(app)
    fields = guest.get("/card").form("card").fields
    page = guest.post("/card", [*fields, ("code", "ABCDEFGH")], Origin=origin)
    assert page.status == 403
    assert "did not come from a page of Panel" in page.text


def test_a_form_of_ours_is_taken(app: Flask) -> None:
    guest = Guest(app)
    fields = guest.get("/card").form("card").fields
    for headers in (
        {},
        {"Origin": "", "Referer": f"{ORIGIN}/card"},
        {"Origin": "http://LOCALHOST"},
    ):
        page = guest.post("/card", [("code", "ABCDEFGH"), *fields], **headers)
        assert page.status == 404, headers


@pytest.mark.parametrize("site", ["cross-site", "same-site"])
def test_what_the_browser_says_of_its_origin_counts_too(app: Flask, site: str) -> None:
    guest = Guest(app)
    fields = guest.get("/card").form("card").fields
    assert guest.post("/card", fields, **{"Sec-Fetch-Site": site}).status == 403


@pytest.mark.parametrize("given", ["", "made-up"])
def test_a_form_without_a_right_token_comes_back_filled(app: Flask, given: str) -> None:
    page = Guest(app).post("/card", [("csrf_token", given), ("code", "ABCDEFGH")])
    assert page.status == 400
    assert "Nothing you typed is lost" in page.text
    assert page.form("card").values("code") == ["ABCDEFGH"]


def test_another_browsers_token_is_none(app: Flask) -> None:
    token_of_one = Guest(app).get("/card").form("card").values("csrf_token")[0]
    other = Guest(app)
    other.get("/card")
    assert other.post("/card", [("csrf_token", token_of_one), ("code", "A")]).status == 400


def test_a_lan_address_over_plain_http_works(app: Flask) -> None:
    client = app.test_client()
    base = "http://192.168.1.20:8000"
    page = Page(client.get("/card", base_url=base))
    fields = dict(page.form("card").fields) | {"code": "ABCDEFGH"}
    answer = client.post("/card", base_url=base, data=fields, headers={"Origin": base})
    assert answer.status_code == 404  # taken, and no such card


@pytest.mark.parametrize("name", ["code", "co\0de"])
def test_the_character_zero_is_refused_before_anything_is_done(app: Flask, name: str) -> None:
    guest = Guest(app)
    fields = guest.get("/card").form("card").fields
    page = guest.post("/card", [*fields, (name, "ABCD\0EFGH")])
    assert page.status == 400
    assert "was not a whole form" in page.text


# --- cookies -------------------------------------------------------------------------------------


def cookies_set(page: Page) -> dict[str, str]:
    return {
        one.partition("=")[0]: one for one in page.response.headers.getlist("Set-Cookie") if one
    }


def test_cookies_over_plain_http(app: Flask, at: Workplace) -> None:
    guest = Guest(app)
    page = guest.get(f"/set-up/{sign_in.first_link(at)}")
    answer = guest.send(
        page, "set-up", follow=False, name="Robin", password=PASSWORD, password_again=PASSWORD
    )
    given = cookies_set(answer)[cookies.SIGN_IN]
    assert "HttpOnly" in given
    assert "SameSite=Lax" in given
    assert "Secure" not in given  # a Secure cookie would be dropped over http


@pytest.fixture
def secure_app(tmp_path: Path, sqlite_url: str) -> Iterator[Flask]:
    folder = tmp_path / "https"
    folder.mkdir()
    environment = {"PANEL_DATABASE_URL": sqlite_url, "PANEL_ADDRESS": "https://panel.example"}
    made = create_app(settings_room.load(environment, folder), now=Clock())
    yield made
    close(made)


def test_cookies_and_headers_over_https(secure_app: Flask) -> None:
    base = "https://panel.example"
    client = secure_app.test_client()
    page = Page(client.get("/card", base_url=base))
    assert "max-age=31536000" in page.response.headers["Strict-Transport-Security"]
    ((name, given),) = cookies_set(page).items()
    assert name == "__Host-panel"
    assert "Secure" in given
    assert "Path=/" in given
    at = secure_app.extensions["panel"]
    known = serving(at)
    answer = client.get(f"/{token(at, known, trays(at, known)[0])}", base_url=base)
    assert answer.headers["Set-Cookie"].startswith("__Secure-panel-tray=")
    follow = client.get(answer.headers["Location"], base_url=base)
    assert follow.status_code == 200


def test_the_forms_cookie_holds_its_token_and_nothing_else(app: Flask, at: Workplace) -> None:
    guest = Guest(app)
    known = serving(at)
    page = guest.get(f"/{token(at, known, trays(at, known)[0])}")
    with guest.client.session_transaction() as session:
        assert set(session) == {"csrf_token"}
    guest.send(page, button="on", **{"answer-knew": "nothing"})
    draft = guest.client.get_cookie(cookies.DRAFT, path=page.path)
    assert draft is not None
    with app.test_request_context(), guest.client:
        words = cookies.opened_words(f"draft {page.path.removeprefix('/t/')}", draft.value)
    assert all(name == "key" or name.startswith("answer-") for name in words)


def test_a_draft_that_was_tampered_with_is_no_draft(app: Flask) -> None:
    with app.test_request_context():
        whole = cookies.sealed_words("draft a", {"key": ["1"]})
        assert cookies.opened_words("draft a", whole) == {"key": ["1"]}
        assert cookies.opened_words("draft b", whole) == {}
        assert cookies.opened_words("draft a", whole[:-1]) == {}
        assert cookies.opened_words("draft a", "é") == {}


# --- proxies -------------------------------------------------------------------------------------

FORWARDED = {"X-Forwarded-Proto": "https", "X-Forwarded-Host": "evil.example"}


def test_a_made_up_forwarding_header_changes_nothing(app: Flask) -> None:
    """Without a proxy of one's own none is believed: rates count, and the host stays."""
    guest = Guest(app)
    fields = guest.get("/sign-in").form("sign-in").fields
    answers = [
        guest.post("/sign-in", fields, **FORWARDED, **{"X-Forwarded-For": f"203.0.113.{one}"})
        for one in range(11)
    ]
    assert answers[-1].status == 429
    page = guest.post("/card", fields, Origin="https://evil.example", **FORWARDED)
    assert page.status == 403


def test_one_proxy_is_believed_and_no_more(tmp_path: Path, sqlite_url: str) -> None:
    """The last address of the list is the proxy's word; what stands before it a visitor's."""
    (tmp_path / "one").mkdir()
    environment = {
        "PANEL_DATABASE_URL": sqlite_url,
        "PANEL_ADDRESS": "https://panel.example",
        "PANEL_PROXIES": "1",
    }
    made = create_app(settings_room.load(environment, tmp_path / "one"), now=Clock())
    seen: list[str | None] = []
    made.before_request_funcs.setdefault(None, []).insert(
        0, lambda: seen.append(request.remote_addr)
    )
    given = {"X-Forwarded-For": "198.51.100.7, 203.0.113.9", "X-Forwarded-Proto": "http, https"}
    answer = made.test_client().get("/reach", headers=given)
    close(made)
    assert answer.status_code == 200
    assert seen == ["203.0.113.9"]


# --- limits --------------------------------------------------------------------------------------


def test_a_form_that_is_too_large_is_refused(app: Flask) -> None:
    guest = Guest(app)
    fields = guest.get("/card").form("card").fields
    assert guest.post("/card", [*fields, ("code", "x" * 600_000)]).status == 413
    assert "smaller file" in guest.post("/card", [("code", "x" * 600_000)]).text


def test_wrong_characters_are_counted_and_right_ones_are_not(app: Flask, at: Workplace) -> None:
    known = serving(at)
    right = tray_tokens(at.instance_key, known.id, trays(at, known)[0].number, 1).short_code
    guest = Guest(app)
    fields = [one for one in guest.get("/card").form("card").fields if one[0] != "code"]
    for _ in range(20):  # with the wrong ones fewer than the flood of one second
        assert guest.post("/card", [*fields, ("code", right)]).status == 200
    answers = [guest.post("/card", [*fields, ("code", "ABCDEFGH")]).status for _ in range(101)]
    assert answers == [404] * 100 + [429]


def test_a_hall_behind_one_address_is_not_slowed_down(app: Flask) -> None:
    """Two hundred phones that load a page within one second."""
    guest = Guest(app)
    assert {guest.get("/reach").status for _ in range(150)} == {200}


def test_ballots_of_one_tray_are_limited_and_another_tray_goes_on(
    app: Flask, at: Workplace
) -> None:
    known = serving(at)
    first, second = trays(at, known)[:2]
    guest = Guest(app)
    page = guest.get(f"/{token(at, known, first)}")
    answers = [guest.send(page, button="send").status for _ in range(31)]
    assert answers == [422] * 30 + [429]
    page = guest.get(f"/{token(at, known, second)}")
    assert guest.send(page, button="send").status == 422
