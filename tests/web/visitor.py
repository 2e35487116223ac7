"""A visitor without scripts: opens pages, fills in the forms that stand there, presses buttons.

Only what a page really offers can be sent, with the page's own token and an Origin, as a browser
would. What a test wants to send beside that, it must name.
"""

from dataclasses import dataclass, field
from html.parser import HTMLParser
from typing import Any

from flask import Flask
from flask.testing import FlaskClient

from panel.services import sign_in

ADDRESS = "http://10.0.0.5:8000"


@dataclass
class Form:
    """A form as it stands on a page: where it goes and what it would send untouched."""

    action: str
    method: str = "get"
    words: dict[str, list[str]] = field(default_factory=dict)
    buttons: list[str] = field(default_factory=list)


@dataclass
class Page:
    """One answer: status, its HTML, the text people read, the forms."""

    path: str
    status: int
    html: str
    text: str
    forms: list[Form]
    links: list[tuple[str, str]]

    def form(self, button: str) -> Form:
        """The form with that button; AssertionError naming all buttons if there is none."""
        found = [form for form in self.forms if button in form.buttons]
        assert found, f"no button {button!r} on {self.path}, only {[f.buttons for f in self.forms]}"
        return found[0]

    def link(self, text: str) -> str:
        """Where the link of that text leads."""
        found = [href for words, href in self.links if words == text]
        assert found, f"no link {text!r} on {self.path}, only {[words for words, _ in self.links]}"
        return found[0]


class Visitor:
    """A browser with its cookies."""

    def __init__(self, app: Flask) -> None:
        self.client: FlaskClient = app.test_client()

    def sign_in(self, app: Flask, name: str = "Wilhelmina") -> "Visitor":
        """Becomes the first organiser."""
        at = app.extensions["panel"]
        link = sign_in.first_link(at)
        assert link is not None
        token = sign_in.set_up(at, link, name, "four plain words here")
        self.client.set_cookie("panel-signed-in", token, domain="10.0.0.5")
        return self

    def get(self, path: str) -> Page:
        """Opens a page, following redirects."""
        answer = self.client.get(path, base_url=ADDRESS, follow_redirects=True)
        return _page(answer)

    def press(self, page: Page, button: str, **changes: str | list[str]) -> Page:
        """Presses a button of a page after changing fields of its form."""
        form = page.form(button)
        words = {**form.words}
        for name, word in changes.items():
            words[name] = word if isinstance(word, list) else [word]
        return self.post(form.action or page.path, words)

    def post(self, path: str, words: dict[str, list[str]]) -> Page:
        """Sends words to a path, following redirects."""
        answer = self.client.post(
            path,
            base_url=ADDRESS,
            data=words,
            headers={"Origin": ADDRESS},
            follow_redirects=True,
        )
        return _page(answer)


def _page(answer: Any) -> Page:
    html = answer.get_data(as_text=True) if answer.mimetype == "text/html" else ""
    reader = _Reader()
    reader.feed(html)
    text = " ".join("".join(reader.text).split())
    return Page(answer.request.path, answer.status_code, html, text, reader.forms, reader.links)


class _Reader(HTMLParser):
    """Gathers forms as a browser would send them, links, and the text between the tags."""

    def __init__(self) -> None:
        super().__init__()
        self.forms: list[Form] = []
        self.links: list[tuple[str, str]] = []
        self.text: list[str] = []
        self.form: Form | None = None
        self.area: str | None = None
        self.select: str | None = None
        self.written: list[str] | None = None
        self.href = ""
        self.silent = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        at = {name: value or "" for name, value in attrs}
        if tag == "form":
            self.form = Form(at.get("action", ""), at.get("method", "get"))
            self.forms.append(self.form)
        elif tag == "input" and self.form is not None and at.get("name"):
            if at.get("type") not in ("radio", "checkbox") or "checked" in at:
                self._word(at["name"], at.get("value", ""))
        elif tag == "textarea":
            self.area, self.written = at["name"], []
        elif tag == "select":
            self.select = at["name"]
        elif tag == "option" and self.select and "selected" in at:
            self._word(self.select, at.get("value", ""))
        elif tag == "button" and "disabled" not in at:
            self.written = []
        elif tag == "a":
            self.href, self.written = at.get("href", ""), []
        elif tag in ("script", "style", "svg"):
            self.silent = True

    def handle_endtag(self, tag: str) -> None:
        written = " ".join("".join(self.written or []).split())
        if tag == "form":
            self.form = None
        elif tag == "textarea" and self.area is not None:
            self._word(self.area, "".join(self.written or []))
            self.area, self.written = None, None
        elif tag == "select":
            self.select = None
        elif tag == "button" and self.written is not None:
            if self.form is not None:
                self.form.buttons.append(written)
            self.written = None
        elif tag == "a" and self.written is not None:
            self.links.append((written, self.href))
            self.written = None
        elif tag in ("script", "style", "svg"):
            self.silent = False

    def handle_data(self, data: str) -> None:
        if self.written is not None:
            self.written.append(data)
        if not self.silent:
            self.text.append(data)

    def _word(self, name: str, word: str) -> None:
        assert self.form is not None, f"the field {name} stands in no form"
        self.form.words.setdefault(name, []).append(word)
