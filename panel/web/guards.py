"""Who gets in where: whole blueprints are guarded, and what is not in the table stays shut.

A blueprint is named after its audience in core.visibility.AUDIENCES, or begins with it and an
underscore ("organiser_plan"). Who somebody is, is read from what their browser can show: the
organiser's sign-in, the pass that a link opened, the cookie of a tray.
"""

from flask import Blueprint, Flask, g, redirect, request, url_for
from flask.typing import ResponseReturnValue

from panel.core.errors import Fault, PanelError
from panel.core.message import Message, say
from panel.core.names import Role
from panel.core.visibility import AUDIENCES
from panel.services.sign_in import person_of
from panel.services.workplace import NOBODY, Actor
from panel.web import cookies
from panel.web.place import at

NOT_LET_IN = "not-let-in"
"""Code of the refusal at a guarded door."""

SIGNED_IN = ("organiser", "keeper")
"""Audiences with a sign-in of their own, who are sent to the door when they have none."""

UNGUARDED = frozenset({"static"})
"""Endpoints that belong to nobody: files that are the same for all."""


def audience_of(blueprint: str) -> str:
    """The audience a blueprint is for; LookupError if the table does not know it."""
    for name in (blueprint, blueprint.split("_")[0]):
        if name in AUDIENCES:
            return name
    raise LookupError(f"blueprint {blueprint} has no audience in core.visibility.AUDIENCES")


def register(app: Flask, *blueprints: Blueprint) -> None:
    """Adds guarded blueprints to the application; LookupError for one without an audience."""
    for blueprint in blueprints:
        audience_of(blueprint.name)
        app.register_blueprint(blueprint)


def check_every_route(app: Flask) -> None:
    """LookupError if a route of the application belongs to no guarded blueprint."""
    for rule in app.url_map.iter_rules():
        if rule.endpoint not in UNGUARDED:
            audience_of(rule.endpoint.rpartition(".")[0])


def guard() -> ResponseReturnValue | None:
    """Before every request: lets in, sends to the door, or raises PanelError (FORBIDDEN)."""
    g.actor = NOBODY
    if request.endpoint is None or request.endpoint in UNGUARDED:
        return None
    audience = audience_of(request.blueprint or "")
    g.actor = _who(audience)
    if g.actor.role in AUDIENCES[audience]:
        g.let_in = True
        return None
    if audience in SIGNED_IN and g.actor is NOBODY and request.method in ("GET", "HEAD"):
        return redirect(url_for("door.sign_in_page", onward=own_path(request.full_path)))
    raise PanelError(NOT_LET_IN, _way_in(audience), Fault.FORBIDDEN)


def actor() -> Actor:
    """Who is asking."""
    found: Actor = g.actor
    return found


def own_path(path: str) -> str:
    """A path on this service to go on to; "/" for anything that could lead elsewhere."""
    plain = path.startswith("/") and not path.startswith(("//", "/\\")) and "\\" not in path
    return path.rstrip("?") if plain and path.isprintable() else "/"


def signed_in() -> Actor | None:
    """Who is signed in on this browser, an organiser or a key holder, if anybody is."""
    return person_of(at(), cookies.cookie(cookies.SIGN_IN)) if _has(cookies.SIGN_IN) else None


def _has(name: str) -> bool:
    return bool(cookies.cookie(name))


def _who(audience: str) -> Actor:
    """The first of this browser's standings that the audience lets in, else who it is anyway."""
    if audience == "taster":
        return _taster()
    passes = {"steward": cookies.STEWARD, "pourer": cookies.POURER}
    if audience in passes and _has(passes[audience]):
        found = person_of(at(), cookies.cookie(passes[audience]))
        if found is not None and found.role in AUDIENCES[audience]:
            return found
    return signed_in() or NOBODY


def _taster() -> Actor:
    ref = str((request.view_args or {}).get("ref", ""))
    return Actor(Role.TASTER, ref) if ref and cookies.proves_tray(ref) else NOBODY


def _way_in(audience: str) -> Message:
    ways = {
        "taster": say("Scan the code on your card to open its ballot on this phone."),
        "steward": say("Open this page by the link that the organiser gave to the stewards."),
        "pourer": say("Open this page by the link that the organiser gave to the pourers."),
    }
    return ways.get(audience, say("You are not signed in, or not any more. Sign in first."))
