"""Forms that never lose what was typed.

A view that takes a POST only does what succeeds: parse, call the service, redirect. It names,
with `refill`, the function that shows its form; when anything is refused – by a service, or
because the page's token had grown old – that function is called with what was typed and why.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any, TypeVar

from flask import current_app, request
from flask.typing import ResponseReturnValue
from werkzeug import Response

from panel.core.errors import PanelError, RefusalsError
from panel.core.message import Message

TOKEN = "csrf_token"
NOT_KEPT = ("password", "passphrase", TOKEN)
"""Beginnings of names of fields whose content never goes back into a page."""


@dataclass(frozen=True)
class Typed:
    """What somebody typed into a form, and what was refused of it. Empty for a fresh form."""

    words: Mapping[str, list[str]] = field(default_factory=dict)
    refusals: tuple[PanelError, ...] = ()
    notice: Message | None = None

    @property
    def sent(self) -> bool:
        """Whether this form comes back from being sent."""
        return bool(self.words) or bool(self.refusals)

    def value(self, name: str, otherwise: object = "") -> str:
        """What a field shows: what was typed, else what is known."""
        words = self.words.get(name)
        if words:
            return words[0]
        return "" if self.words or otherwise is None else str(otherwise)

    def values(self, name: str, otherwise: tuple[str, ...] | list[str] = ()) -> list[str]:
        """The same for fields with several values."""
        return list(self.words.get(name, ())) if self.words else [str(one) for one in otherwise]

    def ticked(self, name: str, otherwise: bool = False) -> bool:
        """Whether a single box is ticked: a form that was sent without it comes back without."""
        return self.words.get(name) == ["yes"] if self.words else otherwise

    def errors(self, name: str) -> tuple[Message, ...]:
        """What is wrong with a field, in words."""
        return tuple(one.message for one in self.refusals if one.field == name)

    @property
    def elsewhere(self) -> tuple[Message, ...]:
        """Refusals that belong to no field."""
        return tuple(one.message for one in self.refusals if not one.field)


FRESH = Typed()

Shows = Callable[..., str | Response]
"""A function that shows a form: shows(typed, **arguments of the route)."""

View = TypeVar("View", bound=Callable[..., ResponseReturnValue])


def refill(shows: Shows) -> Callable[[View], View]:
    """Names the function that shows a POST view's form: shows(typed, **arguments of the route)."""

    def mark(view: View) -> View:
        view.shows = shows  # type: ignore[attr-defined]
        return view

    return mark


def typed(refusal: PanelError | None = None, notice: Message | None = None) -> Typed:
    """What this request's form holds, with a refusal if there is one."""
    words = {name: values for name, values in request.form.lists() if not name.startswith(NOT_KEPT)}
    match refusal:
        case None:
            refusals: tuple[PanelError, ...] = ()
        case RefusalsError(refusals=several):
            refusals = several
        case _:
            refusals = (refusal,)
    return Typed(words, refusals, notice)


def shown_again(kept: Typed) -> str | Response | None:
    """The form of this request's view with what was typed; None if the view names none."""
    view = current_app.view_functions.get(request.endpoint or "")
    shows: Shows | None = getattr(view, "shows", None)
    if shows is None or request.method != "POST":
        return None
    arguments: dict[str, Any] = request.view_args or {}
    return shows(kept, **arguments)
