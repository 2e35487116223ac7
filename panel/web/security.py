"""What stands around every request: headers on every answer, and where a form may come from."""

from urllib.parse import urlsplit

from flask import Flask, Response, request
from werkzeug.exceptions import BadRequest

from panel.core.errors import Fault, PanelError
from panel.core.message import say
from panel.web.place import at, over_https

POLICY = (
    "default-src 'self'; object-src 'none'; base-uri 'none'; frame-ancestors 'none'; "
    "form-action 'self'; img-src 'self' data:"
)
"""`data:` lets a ballot say that it has no icon, which saves a request on poor wifi."""

YEAR = 31_536_000
CHANGES = ("POST", "PUT", "PATCH", "DELETE")
OPEN_ENDPOINTS = ("static", "public.typeface", "public.result_style")
"""What may be kept by the browser: it is the same for everybody."""


def protect(app: Flask) -> None:
    """Headers on every answer of the application, errors included."""
    app.after_request(_with_headers)


def _with_headers(response: Response) -> Response:
    headers = response.headers
    headers.setdefault("Content-Security-Policy", POLICY)
    headers["X-Content-Type-Options"] = "nosniff"
    headers["Referrer-Policy"] = "same-origin"  # with no-referrer a form's Origin would be null
    headers["X-Frame-Options"] = "DENY"
    if request.endpoint in OPEN_ENDPOINTS and response.status_code == 200:
        marked = "v" in request.args or request.endpoint == "public.typeface"
        kept = f"max-age={YEAR}, immutable" if marked else "no-cache"
        headers["Cache-Control"] = f"public, {kept}"
    else:
        headers["Cache-Control"] = "no-store"
    if over_https():
        headers["Strict-Transport-Security"] = f"max-age={YEAR}"
    return response


def check_origin() -> None:
    """PanelError (fault FORBIDDEN) for a form that another site's page sent.

    Besides the form's token, and also over plain http, where browsers send no Sec-Fetch-Site.
    """
    if request.method not in CHANGES:
        return
    sent = request.headers.get("Origin") or request.headers.get("Referer", "")
    fetched = request.headers.get("Sec-Fetch-Site", "same-origin")
    if _origin(sent) not in _own_origins() or fetched not in ("same-origin", "none"):
        raise PanelError(
            "other-origin",
            say(
                "This form did not come from a page of Panel, so nothing was saved. Open the "
                "page again at %(address)s and send it from there.",
                address=at().settings.address,
            ),
            Fault.FORBIDDEN,
        )


def require_whole() -> None:
    """From now on a form that breaks off before its stated length is refused (ClientDisconnected,
    status 400) as soon as it is read, and not taken for a shorter one: a phone that loses the wifi
    in the middle of a ballot has sent none.

    Both our servers say `wsgi.input_terminated`, whatever came, which the framework takes for
    "whole, at most this long"; without the word it holds the stream against Content-Length.
    """
    if "CONTENT_LENGTH" in request.environ and "HTTP_TRANSFER_ENCODING" not in request.environ:
        request.environ.pop("wsgi.input_terminated", None)


def check_characters() -> None:
    """BadRequest for a form with the character zero in it: nobody can type it, PostgreSQL keeps no
    text that holds it, and programs that end a text there read another one than we."""
    if any("\0" in word for name, words in request.form.lists() for word in (name, *words)):
        raise BadRequest


def _own_origins() -> set[str]:
    return {_origin(request.host_url), _origin(at().settings.address)}


def _origin(address: str) -> str:
    """Scheme, host and port of an address, in lower case; "-" for one that has none."""
    try:
        parts = urlsplit(address.lower())
        port = parts.port or {"http": 80, "https": 443}.get(parts.scheme)
    except ValueError:
        return "-"
    return f"{parts.scheme}://{parts.hostname}:{port}" if parts.hostname and port else "-"
