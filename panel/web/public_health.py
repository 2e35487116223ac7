"""For whatever watches over the service: is it alive, is it ready. Nothing here is secret."""

from flask import Blueprint
from flask.typing import ResponseReturnValue

from panel.services import health
from panel.web.limits import limiter
from panel.web.place import at

pages = Blueprint("public_health", __name__)
limiter.exempt(pages)  # whoever watches often asks from the proxy's own address


@pages.get("/healthz")
def alive() -> ResponseReturnValue:
    """The process answers; whether its database does is the other question."""
    return {"alive": True}


@pages.get("/readyz")
def ready() -> ResponseReturnValue:
    """200 if ballots can be taken now; 503 and what is missing if not."""
    missing = health.lacks(at())
    return {"ready": not missing, "missing": missing}, 503 if missing else 200
