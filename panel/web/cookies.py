"""Cookies: their names, and the one way in which they are set.

HttpOnly and SameSite=Lax always; Secure, with the prefix that browsers enforce, where people come
by https. A Secure cookie set over http would be dropped, and a pub's network is plain http.
"""

import hashlib
import hmac

from flask import request
from itsdangerous import BadSignature, URLSafeSerializer
from werkzeug import Response

from panel.services.workplace import cookie_key
from panel.web.place import at, over_https

SIGN_IN = "panel-signed-in"
STEWARD = "panel-steward"
POURER = "panel-pourer"
TRAY = "panel-tray"
DRAFT = "panel-draft"


def cookie(name: str) -> str:
    """What the browser sent under that name, or ""."""
    return request.cookies.get(_full(name), "")


def set_cookie(
    response: Response, name: str, value: str, seconds: int | None = None, path: str = "/"
) -> None:
    """Sets a cookie for the given time, or until the browser is closed."""
    response.set_cookie(
        _full(name),
        value,
        max_age=seconds,
        path=path,
        secure=over_https(),
        httponly=True,
        samesite="Lax",
    )


def drop_cookie(response: Response, name: str, path: str = "/") -> None:
    """Takes a cookie away."""
    response.delete_cookie(
        _full(name), path=path, secure=over_https(), httponly=True, samesite="Lax"
    )


def session_cookie_name(https: bool) -> str:
    """The name of the cookie that holds the forms' token, and nothing else."""
    return "__Host-panel" if https else "panel"


def _full(name: str) -> str:
    if not over_https():
        return name
    # __Host- demands the path "/", and a tray's cookies have the path of their tray.
    return f"__Secure-{name}" if name in (TRAY, DRAFT) else f"__Host-{name}"


def tray_proof(ref: str) -> str:
    """What a tray's cookie must hold: derived, so that opening a card writes nothing."""
    return hmac.new(cookie_key(at()), f"tray {ref}".encode(), hashlib.sha256).hexdigest()


def proves_tray(ref: str) -> bool:
    """Whether this browser has opened that tray's card."""
    return hmac.compare_digest(cookie(TRAY).encode(), tray_proof(ref).encode())


def sealed_words(purpose: str, words: dict[str, list[str]]) -> str:
    """Words for a cookie, signed; anyone who has the cookie can read them."""
    return str(_serializer(purpose).dumps(words))


def opened_words(purpose: str, text: str) -> dict[str, list[str]]:
    """The words that `sealed_words` wrote; {} for anything else."""
    if not text:
        return {}
    try:
        words = _serializer(purpose).loads(text)
    except BadSignature:
        return {}
    return {str(name): [str(word) for word in value] for name, value in words.items()}


def _serializer(purpose: str) -> URLSafeSerializer:
    return URLSafeSerializer(cookie_key(at()), salt=purpose, signer_kwargs=_SIGNER)


_SIGNER = {"digest_method": hashlib.sha256, "key_derivation": "hmac"}
