"""Somebody at a browser without scripts: opens pages, fills their forms in, sends them."""

from dataclasses import dataclass, field
from html.parser import HTMLParser
from typing import Any
from urllib.parse import urlsplit

from flask import Flask
from werkzeug.test import TestResponse

ORIGIN = "http://localhost"


@dataclass
class Form:
    """A form as it stands in a page: its fields with what is chosen and typed, its buttons."""

    action: str
    method: str
    fields: list[tuple[str, str]] = field(default_factory=list)
    offered: set[tuple[str, str]] = field(default_factory=set)
    buttons: list[dict[str, str]] = field(default_factory=list)

    def values(self, name: str) -> list[str]:
        """What is chosen or typed under a name."""
        return [value for key, value in self.fields if key == name]


class Page(HTMLParser):
    """What came back: status, text, forms, links and titles."""

    def __init__(self, response: TestResponse) -> None:
        self.response = response
        self.status = response.status_code
        self.path = response.request.path
        plain = response.mimetype == "text/html"
        self.read(response.get_data(as_text=True) if plain else "")

    def read(self, html: str) -> None:
        """Takes a page's HTML in."""
        super().__init__()
        self.html = html
        self.forms: list[Form] = []
        self.links: list[str] = []
        self.words: list[str] = []
        self._form: Form | None = None
        self._text: tuple[str, list[str]] | None = None
        self._select: tuple[str, list[tuple[str | None, bool]]] | None = None
        self._option: list[str] | None = None
        self._silent = 0
        self.feed(html)

    @property
    def text(self) -> str:
        """The words on the page, with single spaces."""
        return " ".join(" ".join(self.words).split())

    def form(self, part: str = "") -> Form:
        """The first form whose action holds these words."""
        return next(one for one in self.forms if part in one.action)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {name: value or "" for name, value in attrs}
        if tag in ("script", "style", "title", "head"):
            self._silent += tag != "head"
        if tag == "a" and "href" in given:
            self.links.append(given["href"])
        if tag == "form":
            self._form = Form(given.get("action", ""), given.get("method", "get"))
            self.forms.append(self._form)
        if self._form is not None:
            self._field(tag, given, self._form)

    def _field(self, tag: str, given: dict[str, str], form: Form) -> None:
        name = given.get("name", "")
        if tag == "input" and given.get("type") in ("radio", "checkbox"):
            form.offered.add((name, given.get("value", "on")))
            if "checked" in given:
                form.fields.append((name, given.get("value", "on")))
        elif tag == "input" and name:
            form.fields.append((name, given.get("value", "")))
        elif tag == "button":
            form.buttons.append(given)
        elif tag == "textarea":
            self._text = (name, [])
        elif tag == "select":
            self._select = (name, [])
        elif tag == "option" and self._select:
            # An option without a value has its text for one.
            self._select[1].append((given.get("value"), "selected" in given))
            self._option = []

    def handle_endtag(self, tag: str) -> None:
        if tag in ("script", "style", "title"):
            self._silent -= 1
        if tag == "form":
            self._form = None
        if tag == "textarea" and self._text and self._form:
            self._form.fields.append((self._text[0], "".join(self._text[1])))
            self._text = None
        if tag == "option" and self._select and self._option is not None:
            value, selected = self._select[1].pop()
            written = "".join(self._option).strip() if value is None else value
            self._select[1].append((written, selected))
            self._option = None
        if tag == "select" and self._select and self._form:
            name, options = self._select
            chosen = [value or "" for value, selected in options if selected]
            self._form.fields.append(
                (name, (chosen or [value or "" for value, _ in options[:1]])[0])
            )
            self._select = None

    def handle_data(self, data: str) -> None:
        if self._text is not None:
            self._text[1].append(data)
        if self._option is not None:
            self._option.append(data)
        if not self._silent:
            self.words.append(data)


class Guest:
    """One browser, with its own cookies."""

    def __init__(self, app: Flask) -> None:
        self.client = app.test_client()

    def get(self, path: str, follow: bool = True, **headers: str) -> Page:
        """Opens an address."""
        return Page(self.client.get(path, follow_redirects=follow, headers=headers))

    def send(
        self, page: Page, part: str = "", button: str = "", follow: bool = True, **filled: Any
    ) -> Page:
        """Fills a form in and sends it. A list gives a field several values, None leaves it out.

        button: the value of the button that is pressed; its name and formaction go with it.
        Field names that are no Python names go in as `**{"answer-odd": code}`.
        """
        form = page.form(part)
        fields = [(name, value) for name, value in form.fields if name not in filled]
        for name, value in filled.items():
            many = value if isinstance(value, list) else [] if value is None else [value]
            fields += [(name, str(one)) for one in many]
        action = form.action
        for pressed in form.buttons:
            if button and pressed.get("value") == button:
                fields.append((pressed["name"], button))
                action = pressed.get("formaction", action)
                break
        return self.post(action, fields, follow)

    def post(
        self, path: str, fields: list[tuple[str, str]], follow: bool = True, **headers: str
    ) -> Page:
        """Sends fields as a browser would from a page of this service."""
        data: dict[str, list[str]] = {}
        for name, value in fields:
            data.setdefault(name, []).append(value)
        sent = {"Origin": ORIGIN, **headers}
        split = urlsplit(path)
        answer = self.client.post(
            split.path,
            query_string=split.query,
            data=data,
            headers={name: value for name, value in sent.items() if value},
            follow_redirects=follow,
        )
        return Page(answer)
