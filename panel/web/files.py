"""Files that are the same for everybody: style sheets, scripts, typefaces.

Their addresses carry a mark of their content, so that a browser may keep them for a year and still
sees a new version at once.
"""

import gzip
import hashlib
from functools import cache
from pathlib import Path

from flask import Flask, Response, abort, make_response, request, url_for

TYPEFACES = "typefaces"
"""Key of the application's extensions: name of a face to the file it lies in."""


def keep_files(app: Flask, typefaces: dict[str, Path]) -> None:
    """Gives templates `static_url(name)`, and the application its typefaces."""
    app.extensions[TYPEFACES] = typefaces
    folder = Path(str(app.static_folder))

    @cache
    def mark(name: str) -> str:
        return hashlib.sha256((folder / name).read_bytes()).hexdigest()[:10]

    def static_url(name: str) -> str:
        return url_for("static", filename=name, v=mark(name))

    app.jinja_env.globals["static_url"] = static_url


def typeface(files: dict[str, Path], name: str) -> Response:
    """A typeface, packed where the browser can unpack it: poor wifi halves gladly."""
    if name not in files:
        abort(404)
    packed = "gzip" in request.headers.get("Accept-Encoding", "")
    response = make_response(_packed(files[name]) if packed else files[name].read_bytes())
    response.mimetype = "font/ttf"
    response.headers["Vary"] = "Accept-Encoding"
    if packed:
        response.headers["Content-Encoding"] = "gzip"
    return response


@cache
def _packed(path: Path) -> bytes:
    return gzip.compress(path.read_bytes(), 9, mtime=0)
