"""The names of a form's fields, as its labels have them, in the list of what is not right above it.

The list stands before the fields, so it is written with places that are filled in once the whole
page is there. A field is named in one place, its label.
"""

import re

from flask import Flask, g
from markupsafe import Markup, escape

_PLACE = re.compile("\ufdd0([^\ufdd1]*)\ufdd1")
"""Two code points that Unicode keeps free for a program's own use and no keyboard types."""


def name_fields_on(app: Flask) -> None:
    """What templates need to name fields and to leave places for their names."""
    app.jinja_env.globals["name_field"] = name_field
    app.jinja_env.globals["field_name_here"] = field_name_here
    app.jinja_env.filters["with_field_names"] = with_field_names


def name_field(field: str, label: str) -> str:
    """Notes how a field is called on this page, the first name wins; "" to the page."""
    _names().setdefault(field, label)
    return ""


def field_name_here(field: str) -> str:
    """The place for a field's name."""
    return f"\ufdd0{field}\ufdd1"


def with_field_names(page: str) -> Markup:
    """The page with all places filled in; one whose field has no name is left out."""

    def named(place: re.Match[str]) -> str:
        label = _names().get(place[1])
        if label is None:
            return ""
        end = " " if label.endswith("?") else ": "
        return f"<strong>{escape(label)}</strong>{end}"

    return Markup(_PLACE.sub(named, page))  # the page was escaped where it was written


def _names() -> dict[str, str]:
    names: dict[str, str] = g.setdefault("field_names", {})
    return names
