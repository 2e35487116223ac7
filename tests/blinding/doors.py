"""Doors that are open to all, and doors that are somebody else's: everybody tries them."""

from functools import partial

from panel.web.guards import audience_of
from tests.blinding.artefacts import Visitor
from tests.blinding.company import NOBODYS, PASSWORD, Walk, token_in
from tests.blinding.looking import VARIABLE, addresses


def try_doors(here: Walk) -> None:
    """Everybody goes where everybody may, and tries every door that is not theirs."""
    spare = next(tray for tray in here.event.trays() if tray.spare)
    taster = here.phone(spare)
    for visitor in (here.steward, here.pourer, here.member, taster):
        go_everywhere(here, visitor)
    knock(here, here.steward, own="steward")


def go_everywhere(here: Walk, visitor: Visitor) -> None:
    """The pages and doors that are open to all, and every form on them, rightly and wrongly."""
    event = here.event
    spare = [tray for tray in event.trays() if tray.spare][1]
    for path in (
        "/",
        "/reach",
        "/privacy",
        "/archive?words=ale",
        f"/archive/side-by-side?{VARIABLE}",
        "/healthz",
        "/readyz",
        "/result.css",
        "/type/title.ttf",
        f"/r/{event.known.slug}",
    ):
        visitor.get(path)
    for name in (
        "index.html",
        "sealed.json",
        "plan.json",
        "findings.json",
        "codes.html",
        "bundle.zip",
        "report.pdf",
        "picture.png",
    ):
        visitor.get(f"/r/{event.known.slug}/{name}")
    for path in (f"/r/{NOBODYS}", f"/{NOBODYS}", "/nowhere"):
        visitor.get(path)
    page = visitor.get("/sign-in?onward=/organise")
    visitor.send(page, "/sign-in", name="Robin", password="not this one")
    page = visitor.get("/card")
    for code in ("", "AAAA AAAA", "0", event.tokens(spare).shown):
        visitor.send(page, "/card", code=code)
    for door in ("/in/", "/set-up/"):
        page = visitor.get(f"{door}{NOBODYS}")
        visitor.send(page, door)
    fields = [("csrf_token", token_in(page)), ("name", "Robin"), ("password", PASSWORD)]
    visitor.post(f"/in/{NOBODYS}/key", fields)
    visitor.get("/password")
    visitor.post("/password", [*fields, ("password_now", PASSWORD)])
    visitor.post("/sign-out", [("csrf_token", token_in(page))])


def knock(here: Walk, visitor: Visitor, own: str) -> None:
    """Tries every address that is not theirs, forms without their token. The guard stands before
    every page and asks for no names, so one who knocks is enough."""
    for method in ("GET", "POST"):
        for endpoint, path in addresses(here, method):
            if audience_of(endpoint.rpartition(".")[0]) not in (own, "public", "door"):
                knocked = visitor.get if method == "GET" else partial(visitor.post, fields=[])
                knocked(path, follow=False)
