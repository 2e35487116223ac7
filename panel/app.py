"""The composition root: one application from its settings. It alone sees every floor."""

import os
import secrets
from collections.abc import Callable
from datetime import UTC, datetime
from typing import cast

from flask import Flask, request
from flask.typing import ResponseReturnValue
from flask_wtf import CSRFProtect
from werkzeug.middleware.proxy_fix import ProxyFix

from panel.core.errors import Fault, PanelError
from panel.core.message import say
from panel.printing.fonts import FONT_FILES
from panel.services.daily import every_day
from panel.services.forget import erase_due
from panel.services.reach import OwnAddresses, nowhere
from panel.services.whole_records import BrokenChain, broken_chains
from panel.services.workplace import Workplace, cookie_key, open_workplace
from panel.settings import Settings, load
from panel.web import place
from panel.web.converters import CONVERTERS
from panel.web.cookies import session_cookie_name
from panel.web.errors import handle_errors
from panel.web.field_names import name_fields_on
from panel.web.files import keep_files
from panel.web.guards import check_every_route, guard, register, signed_in
from panel.web.language import speak_on
from panel.web.limits import flood, limiter
from panel.web.log_lines import write_json_lines
from panel.web.pages import BLUEPRINTS
from panel.web.security import check_characters, check_origin, protect, require_whole
from panel.web.serve import serve

__all__ = ["close", "create_app", "serve", "worker", "workplace_of"]

FORM_LIFE = 12 * 3600
"""Seconds for which a form's token is good: as long as a sign-in at most lasts."""

MEGABYTE = 1024 * 1024
LARGEST_REQUEST = 20 * MEGABYTE
LARGEST_FORM = MEGABYTE // 2
MOST_FIELDS = 1_000


def create_app(
    settings: Settings,
    *,
    now: Callable[[], datetime] | None = None,
    entropy: Callable[[int], bytes] | None = None,
    addresses: OwnAddresses = nowhere,
) -> Flask:
    """The application of an installation, its database brought up to date.

    now, entropy: the clock (UTC, aware) and the source of chance, the machine's own if None.
    addresses: finds where this machine may be reached; usually it does not look.
    PanelError (fault PLACE) if the installation cannot be used. Call `close` at the end.
    """
    workplace = open_workplace(
        settings, now or (lambda: datetime.now(UTC)), entropy or secrets.token_bytes
    )
    app = Flask("panel.web", instance_path=str(settings.instance))
    app.extensions[place.KEY] = workplace
    app.extensions[place.ADDRESSES] = addresses
    app.extensions[place.BROKEN] = broken_chains(workplace)
    https = settings.address.startswith("https://")
    app.config.update(
        DEBUG=False,  # whatever FLASK_DEBUG says
        SECRET_KEY=cookie_key(workplace),
        SESSION_COOKIE_NAME=session_cookie_name(https),
        SESSION_COOKIE_SECURE=https,
        SESSION_COOKIE_HTTPONLY=True,
        SESSION_COOKIE_SAMESITE="Lax",
        MAX_CONTENT_LENGTH=LARGEST_REQUEST,
        MAX_FORM_MEMORY_SIZE=LARGEST_FORM,
        MAX_FORM_PARTS=MOST_FIELDS,
        WTF_CSRF_TIME_LIMIT=FORM_LIFE,
        WTF_CSRF_SSL_STRICT=False,  # the Origin is checked over https and http alike
        WTF_CSRF_CHECK_DEFAULT=False,  # in _before, after the guard
        RATELIMIT_HEADERS_ENABLED=True,
    )
    app.url_map.converters.update(CONVERTERS)
    app.jinja_env.globals.update(
        guild=settings.guild, address=settings.address, signed_in=signed_in
    )
    app.jinja_env.trim_blocks = app.jinja_env.lstrip_blocks = True
    if settings.proxies:
        count = settings.proxies
        app.wsgi_app = ProxyFix(app.wsgi_app, x_for=count, x_proto=count, x_host=count)  # type: ignore[method-assign]
    _put_together(app)
    return app


def worker() -> Flask:
    """The application of one worker process among several: of a server that asks for a factory.

    Its settings come from the environment, as `load` says. PanelError (fault PLACE) on SQLite,
    where one writer at a time is arranged within one process.
    """
    settings = load(os.environ)
    if settings.database_url.startswith("sqlite"):
        raise PanelError(
            "workers-need-postgresql",
            say(
                "Several worker processes need PostgreSQL: set database_url. With the file in the "
                "instance folder, run “panel host”."
            ),
            Fault.PLACE,
        )
    return create_app(settings)


def workplace_of(app: Flask) -> Workplace:
    """The workplace an application was made with."""
    return cast(Workplace, app.extensions[place.KEY])


def broken_chains_of(app: Flask) -> tuple[BrokenChain, ...]:
    """The chains of the record that were found broken when the application was made."""
    return cast(tuple[BrokenChain, ...], app.extensions[place.BROKEN])


def close(app: Flask) -> None:
    """Lets go of the database."""
    workplace_of(app).units.close()


def serve_app(app: Flask, settings: Settings, ready: Callable[[int], None]) -> None:
    """Serves where the settings say until told to stop; `ready` is called with the port."""
    with every_day(lambda: erase_due(workplace_of(app))):
        serve(app, settings.host, settings.port, ready)


def _put_together(app: Flask) -> None:
    tokens = CSRFProtect(app)

    def before() -> ResponseReturnValue | None:
        if request.mimetype != "multipart/form-data":
            # What has no files is a form: the framework limits only the fields of the other kind.
            request.max_content_length = LARGEST_FORM
        require_whole()
        check_origin()
        answer = guard()
        if answer is None and request.endpoint is not None:
            check_characters()
            tokens.protect()
        return answer

    if workplace_of(app).settings.log == "json":
        write_json_lines(app)
    protect(app)
    speak_on(app)
    name_fields_on(app)
    keep_files(app, {str(face): path for face, path in FONT_FILES.items()})
    handle_errors(app)
    app.before_request(before)
    flood.init_app(app)
    limiter.init_app(app)
    register(app, *BLUEPRINTS)
    check_every_route(app)
