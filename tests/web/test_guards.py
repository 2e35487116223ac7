"""Who gets in where. The table of audiences is core.visibility's; here it is tried at the doors."""

import re

import pytest
from flask import Blueprint, Flask

from panel.core.names import Role
from panel.core.visibility import AUDIENCES
from panel.services import sign_in
from panel.services.workplace import Workplace
from panel.web import cookies
from panel.web.guards import UNGUARDED, audience_of, check_every_route, own_path, register
from tests.builders import Clock, sealed, serving, token, trays
from tests.web.conftest import with_pass
from tests.web.guest import Guest, Page


def test_every_route_belongs_to_an_audience(app: Flask) -> None:
    check_every_route(app)
    audiences = {
        audience_of(rule.endpoint.rpartition(".")[0])
        for rule in app.url_map.iter_rules()
        if rule.endpoint not in UNGUARDED
    }
    assert audiences == set(AUDIENCES)


def test_a_blueprint_without_an_audience_is_not_registered(app: Flask) -> None:
    with pytest.raises(LookupError, match="has no audience"):
        register(app, Blueprint("backstage", __name__))


def test_a_route_of_nobody_is_found() -> None:
    bare = Flask(__name__)
    bare.add_url_rule("/backstage", "backstage", lambda: "")
    with pytest.raises(LookupError):
        check_every_route(bare)


@pytest.mark.parametrize(
    ("name", "audience"),
    [("organiser", "organiser"), ("organiser_print", "organiser"), ("taster", "taster")],
)
def test_an_audience_is_known_by_name(name: str, audience: str) -> None:
    assert audience_of(name) == audience


@pytest.mark.parametrize("name", ["", "organisers", "admin", "print_organiser"])
def test_other_names_are_no_audience(name: str) -> None:
    with pytest.raises(LookupError):
        audience_of(name)


# --- every door, tried by everybody --------------------------------------------------------------

OPEN_TO_ALL = ("public", "door")


def addresses(app: Flask, ids: dict[str, str]) -> list[tuple[str, str, str]]:
    """(audience, method, address) of every route, with ids that exist."""
    found = []
    adapter = app.url_map.bind("localhost")
    for rule in app.url_map.iter_rules():
        if rule.endpoint in UNGUARDED:
            continue
        values = {
            name: ids.get(name, "1" if "int:" + name in rule.rule else "a" * 12)
            for name in rule.arguments
        }
        for method in sorted((rule.methods or set()) & {"GET", "POST"}):
            path = adapter.build(rule.endpoint, values, method=method)
            found.append((audience_of(rule.endpoint.rpartition(".")[0]), method, path))
    return found


def test_a_stranger_gets_in_nowhere_but_at_the_front(app: Flask, at: Workplace) -> None:
    known = serving(at)
    ids = {
        "comparison": known.id,
        "sitting": known.sittings[0].id,
        "ref": "0" * 16,
        "token": "A" * 16,
        "slug": known.slug,
    }
    tried = 0
    for audience, method, path in addresses(app, ids):
        if audience in OPEN_TO_ALL:
            continue
        page = Guest(app).get(path, follow=False) if method == "GET" else Guest(app).post(path, [])
        turned_away = page.status == 403 or (
            page.status == 302 and "/sign-in" in page.response.headers["Location"]
        )
        assert turned_away, f"{method} {path} answered {page.status}"
        tried += 1
    assert tried > 30


@pytest.mark.parametrize("role", [Role.STEWARD, Role.POURER])
def test_a_pass_opens_its_own_pages_only(app: Flask, at: Workplace, role: Role) -> None:
    known, other = serving(at), serving(at)
    holder = with_pass(app, at, known, role)
    here, there = (
        {kind: f"/{kind}/{one.id}/{one.sittings[0].id}" for kind in ("steward", "pourer")}
        for one in (known, other)
    )
    own, others = ("steward", "pourer") if role is Role.STEWARD else ("pourer", "steward")
    assert holder.get(here[own]).status == 200
    assert holder.get(here[others]).status == 403
    assert holder.get("/organise", follow=False).status == 302
    if role is Role.STEWARD:
        assert holder.get(there[own]).status == 403
    else:
        assert press_mats(holder, there[own]).status == 403


def press_mats(holder: Guest, path: str) -> Page:
    """Asks for the mats of a sitting whose page this holder cannot have been given."""
    token_field = holder.get(path).form("/pourer/").values("csrf_token")
    return holder.post(path, [("csrf_token", token_field[0]), ("wave", "1")])


def test_an_organiser_may_serve_and_pour(organiser: Guest, at: Workplace) -> None:
    known = serving(at)
    ids = f"{known.id}/{known.sittings[0].id}"
    assert organiser.get(f"/steward/{ids}").status == 200
    assert organiser.get(f"/pourer/{ids}").status == 200


def test_a_tasters_cookie_cannot_be_made_up(app: Flask, at: Workplace) -> None:
    known = serving(at)
    guest = Guest(app)
    page = guest.get(f"/{token(at, known, trays(at, known)[0])}")
    ref = page.path.removeprefix("/t/")
    stranger = Guest(app)
    for proof in ("", "0" * 64, ref, "é"):
        stranger.client.set_cookie(cookies.TRAY, proof, path=f"/t/{ref}")
        assert stranger.get(f"/t/{ref}").status == 403


# --- sign-ins end ---------------------------------------------------------------------------------


def test_a_sign_in_ends_without_use_and_at_the_latest(
    organiser: Guest, clock: Clock, at: Workplace
) -> None:
    """60 minutes without use, 12 hours at the latest (OWASP ASVS 5.0.0, 7.3.1 and 7.3.2)."""
    for _ in range(13):
        clock.forward(minutes=55)
        last = organiser.get("/organise", follow=False).status
    assert last == 200
    clock.forward(minutes=55)
    assert organiser.get("/organise", follow=False).status == 302


def test_signing_out_ends_it_on_the_server(app: Flask, organiser: Guest) -> None:
    stolen = organiser.client.get_cookie(cookies.SIGN_IN)
    assert stolen is not None
    organiser.send(organiser.get("/"), "sign-out")
    thief = Guest(app)
    thief.client.set_cookie(cookies.SIGN_IN, stolen.value)
    assert thief.get("/organise", follow=False).status == 302


def test_a_revoked_pass_opens_nothing(app: Flask, at: Workplace) -> None:
    known = serving(at)
    holder = with_pass(app, at, known, Role.STEWARD)
    path = f"/steward/{known.id}/{known.sittings[0].id}"
    assert holder.get(path).status == 200
    pass_token = holder.client.get_cookie(cookies.STEWARD)
    assert pass_token is not None
    sign_in.sign_out(at, pass_token.value)
    assert holder.get(path).status == 403


@pytest.mark.parametrize(
    ("path", "goes"),
    [
        ("/organise/new?x=1", "/organise/new?x=1"),
        ("//evil.example", "/"),
        ("/\\evil.example", "/"),
        ("https://evil.example", "/"),
        ("javascript:alert(1)", "/"),
        ("/ok\nSet-Cookie: a=b", "/"),
        ("", "/"),
    ],
)
def test_redirects_stay_here(path: str, goes: str) -> None:
    assert own_path(path) == goes


def test_only_the_whole_slug_opens_a_page(app: Flask, at: Workplace) -> None:
    known = sealed(at)
    assert Guest(app).get(f"/r/{known.slug}").status == 200
    changed = known.slug[:-1] + ("a" if known.slug[-1] != "a" else "b")
    assert Guest(app).get(f"/r/{changed}").status == 404


def test_only_what_stands_on_a_card_is_named_by_a_number(app: Flask) -> None:
    """Everything else has an id that cannot be counted upwards."""
    counted = {
        name for rule in app.url_map.iter_rules() for name in re.findall(r"<int:(\w+)>", rule.rule)
    }
    assert counted <= {"number", "revision", "wave"}
