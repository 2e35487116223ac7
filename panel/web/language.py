"""The language of a page: the sitting's for its tasters, else the reader's if we speak it."""

from datetime import datetime
from zoneinfo import ZoneInfo

from babel.dates import format_date, format_time
from flask import Flask, g, request
from flask_babel import Babel
from markupsafe import Markup

from panel.catalogue import FOLDER, languages, locale_of, speaker
from panel.core.allocation.check_letter import card_number
from panel.core.drawing import Drawing
from panel.core.message import Message, Moment
from panel.core.svg import svg
from panel.web.answers import shape
from panel.web.place import at


def speak_on(app: Flask) -> None:
    """Babel for sentences in templates, and filters for what the core says."""
    app.config["BABEL_TRANSLATION_DIRECTORIES"] = str(FOLDER)
    app.config["BABEL_DEFAULT_LOCALE"] = str(locale_of("en"))
    Babel(app, locale_selector=lambda: str(locale_of(language())))
    app.jinja_env.filters["spoken"] = spoken
    app.jinja_env.filters["drawn"] = drawn
    app.jinja_env.filters["card"] = card_number
    app.jinja_env.globals["moment"] = Moment
    app.jinja_env.globals["language"] = language
    app.jinja_env.globals["clock"] = clock
    app.jinja_env.globals["day"] = day
    app.jinja_env.globals["shape"] = shape


def language() -> str:
    """The language of this page."""
    chosen = g.get("language")
    if chosen is None:
        known = list(languages())
        usual = at().settings.language
        chosen = request.accept_languages.best_match(known) or (usual if usual in known else "en")
        g.language = chosen
    return str(chosen)


def speak_in(wanted: str) -> None:
    """This page is in a sitting's language, if it is spoken here."""
    if wanted in languages():
        g.language = wanted


def spoken(words: Message | Moment | str) -> str:
    """A message or a moment in the page's language; plain text stays as it is."""
    if isinstance(words, Moment):
        words = Message("%(moment)s", (("moment", words),))
    return speaker(language())(words) if isinstance(words, Message) else words


def clock(utc: datetime, zone: str) -> str:
    """Hours and minutes where people are."""
    written: str = format_time(utc, "short", tzinfo=ZoneInfo(zone), locale=locale_of(language()))
    return written


def day(utc: datetime, zone: str = "") -> str:
    """The day, where people are; without a zone where this service is at home."""
    where = ZoneInfo(zone or at().settings.zone)
    return str(format_date(utc.astimezone(where), "long", locale=locale_of(language())))


def drawn(drawing: Drawing, name: str = "") -> Markup:
    """A drawing as SVG within the page; its texts were escaped when it was written."""
    return Markup(svg(drawing, name))
