"""Lines of JSON for a machine that collects them: one for each request, one for each failure.

There are no names, tokens or addresses in them, by construction: of a request the name of its
route, of a failure its kind and its places in the program. What a message was filled in with, and
what an exception said, is left out.
"""

import json
import logging
import sys
import time
from datetime import UTC, datetime
from typing import Any, TextIO

from flask import Flask, Response, g, request

FIELDS = "panel_fields"
"""Name under which a record carries fields of ours."""

log = logging.getLogger("panel.web.requests")


class JsonLines(logging.Formatter):
    """A record as one line: line breaks and control characters are escaped by JSON itself."""

    def format(self, record: logging.LogRecord) -> str:
        """`event` is the message as it stands in the program, not filled in."""
        line: dict[str, Any] = {
            "at": datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds"),
            "level": record.levelname.lower(),
            "logger": record.name,
            "process": record.process,
            "event": str(record.msg),
            **getattr(record, FIELDS, {}),
        }
        if record.exc_info and record.exc_info[0] is not None:
            line["error"] = record.exc_info[0].__name__
            line["places"] = _places(record.exc_info[1])
        return json.dumps(line, ensure_ascii=True)


def write_json_lines(app: Flask, stream: TextIO | None = None) -> None:
    """Writes the program's log as lines of JSON, on standard error or a stream."""
    handler = logging.StreamHandler(stream or sys.stderr)
    handler.setFormatter(JsonLines())
    ours = logging.getLogger("panel")
    ours.handlers = [handler]
    ours.setLevel(logging.INFO)
    ours.propagate = False
    app.before_request(_begun)
    app.after_request(_told)


def _begun() -> None:
    g.begun = time.monotonic()


def _told(response: Response) -> Response:
    fields = {
        "method": request.method,
        "route": request.endpoint or "",  # never the path: it can hold a card's token
        "status": response.status_code,
        "milliseconds": round((time.monotonic() - g.get("begun", time.monotonic())) * 1000, 1),
    }
    log.info("request", extra={FIELDS: fields})
    return response


def _places(failure: BaseException | None) -> list[str]:
    """Module, function and line, outermost first."""
    found = []
    trace = failure.__traceback__ if failure else None
    while trace is not None:
        frame = trace.tb_frame
        module = frame.f_globals.get("__name__", "")
        found.append(f"{module}.{frame.f_code.co_name}:{trace.tb_lineno}")
        trace = trace.tb_next
    return found
