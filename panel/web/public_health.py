"""For whatever watches over the service: is it alive, is it ready. Nothing here is secret."""

from flask import Blueprint
from flask.typing import ResponseReturnValue

from panel.services import health
from panel.web.limits import flood
from panel.web.place import at

pages = Blueprint("public_health", __name__)
flood.exempt(pages)  # whoever watches often asks from the proxy's own address


@pages.get("/healthz")
def alive() -> ResponseReturnValue:
    """The process answers; whether its database does is the other question."""
    return {"alive": True}


@pages.get("/readyz")
def ready() -> ResponseReturnValue:
    """200 if ballots can be taken now; 503 and what is missing if not. A database for tests that
    does not keep what it confirms says so here, by the settings that are off."""
    missing = health.lacks(at())
    answer: dict[str, object] = {"ready": not missing, "missing": missing}
    off = health.may_lose(at())
    if off:
        answer["BALLOTS CAN BE LOST, switched off"] = off
    return answer, 503 if missing else 200
