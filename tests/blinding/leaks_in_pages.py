"""Leaks in what a screen, a browser, a log or a database can give away."""

import logging
from collections.abc import Callable
from dataclasses import replace
from types import ModuleType
from typing import Any

import pytest
from flask import Flask, Response, request
from sqlalchemy import text

from panel.core.comparison import Tray
from panel.core.errors import PanelError
from panel.core.message import say
from panel.core.names import Helpers
from panel.services import ballot_door, pour, seal_comparison, take_ballot
from panel.services.take_ballot import TasterView
from panel.services.workplace import Workplace
from panel.web import cookies, public, steward, taster
from tests.blinding.artefacts import Changed
from tests.blinding.event import TOLD, Event, Facts
from tests.blinding.planting import (
    Leak,
    asked,
    in_the_database,
    in_the_log,
    on_a_refusal,
    on_a_step,
    on_phones,
    on_the_pourers_screen,
    on_the_public_page,
    on_the_stewards_pages,
    order_of,
    tray_of,
)

Plant = Callable[[pytest.MonkeyPatch], None]


def in_page(room: ModuleType, words: Callable[[Event, dict[str, Any]], str]) -> Plant:
    """Words that follow from the event, in every page of a room."""

    def plant(patch: pytest.MonkeyPatch) -> None:
        honest = room.render_template

        def leaking(name: str, **context: Any) -> str:
            page: str = honest(name, **context)
            return page.replace("</main>", words(asked(), context) + "</main>", 1)

        patch.setattr(room, "render_template", leaking)

    return plant


def of_the_card(form: str) -> Callable[[Event, dict[str, Any]], str]:
    """Words with the order of the tray whose ballot is shown."""
    return lambda event, shown: form.format(order_of(event, tray_of(event, shown["view"].ref)))


def of_the_beer(form: str) -> Callable[[Event, dict[str, Any]], str]:
    """Words with the name of beer A."""
    return lambda event, _shown: form.format(event.facts.beers[0].name)


def in_answer(change: Callable[[Event, Response], None]) -> Plant:
    """A change to every answer of the taster's pages, on its way out."""

    def plant(patch: pytest.MonkeyPatch) -> None:
        honest = Flask.process_response

        def leaking(app: Flask, response: Response) -> Response:
            if request.endpoint == "taster.ballot":
                change(asked(), response)
            return honest(app, response)

        patch.setattr(Flask, "process_response", leaking)

    return plant


def with_header(event: Event, response: Response) -> None:
    tray = tray_of(event, str((request.view_args or {})["ref"]))
    response.headers["X-Kind"] = order_of(event, tray)


def with_cookie(event: Event, response: Response) -> None:
    tray = tray_of(event, str((request.view_args or {})["ref"]))
    response.set_cookie("seat", f"7-{order_of(event, tray).count('A')}")


def as_long_as_the_name(event: Event, response: Response) -> None:
    response.data = response.data + b" " * len(event.facts.beers[0].name)


def a_view(change: Callable[[Event, TasterView], TasterView]) -> Plant:
    """What a taster's page is made of, changed."""

    def plant(patch: pytest.MonkeyPatch) -> None:
        honest = take_ballot.taster_view

        def leaking(at: Workplace, ref: str, *measure: Callable[[str], int]) -> TasterView:
            return change(asked(), honest(at, ref, *measure))

        patch.setattr(take_ballot, "taster_view", leaking)

    return plant


def allergens_of_the_first_beer(event: Event, view: TasterView) -> TasterView:
    first = order_of(event, tray_of(event, view.ref))[0]
    return replace(view, allergens=view.allergens if first == "A" else view.allergens[:1])


def one_question_more(event: Event, view: TasterView) -> TasterView:
    if order_of(event, tray_of(event, view.ref))[0] == "B":
        with event.at.units.read() as session:
            session.execute(text("SELECT 1"))
    return view


def a_line_in_the_log(event: Event, view: TasterView) -> TasterView:
    order = order_of(event, tray_of(event, view.ref))
    logging.getLogger("panel.services").info("ballot of %s opened", order)
    return view


def a_draft_that_remembers(patch: pytest.MonkeyPatch) -> None:
    honest = cookies.sealed_words

    def leaking(purpose: str, words: dict[str, list[str]]) -> str:
        event = asked()
        order = order_of(event, tray_of(event, purpose.split()[-1]))
        return honest(purpose, {**words, "order": [order]})

    patch.setattr(cookies, "sealed_words", leaking)


def a_refusal_that_names(patch: pytest.MonkeyPatch) -> None:
    def leaking(*_asked: Any) -> None:
        name = asked().facts.beers[0].name
        raise PanelError("spent", say("%(beer)s is finished. Choose another cup.", beer=name))

    patch.setattr(ballot_door, "check_answers", leaking)


def lists_by_order(patch: pytest.MonkeyPatch) -> None:
    honest = steward.waves_of

    def leaking(trays: Any) -> Any:
        event = asked()
        return tuple(
            replace(wave, trays=tuple(sorted(wave.trays, key=lambda tray: order_of(event, tray))))
            for wave in honest(trays)
        )

    patch.setattr(steward, "waves_of", leaking)


def cups_by_beer(event: Event, _shown: dict[str, Any]) -> str:
    """Wave by wave, how many cups of A are first on their tray."""
    firsts = [order_of(event, tray)[0] == "A" for tray in event.trays()]
    return f"<p>{firsts.count(True)} jugs, {[sum(firsts[i : i + 3]) for i in range(0, 12, 3)]}</p>"


def rows(change: Callable[[str, Tray], Tray]) -> Plant:
    """Trays that are kept with something of their order."""

    def plant(patch: pytest.MonkeyPatch) -> None:
        honest = seal_comparison.trays_of

        def leaking(draw: Any) -> tuple[Tray, ...]:
            orders = {tray.number: tray.order for tray in draw.trays}
            return tuple(change(orders[tray.number], tray) for tray in honest(draw))

        patch.setattr(seal_comparison, "trays_of", leaking)

    return plant


def a_file_before_its_time(patch: pytest.MonkeyPatch) -> None:
    def leaking(at: Workplace, *_asked: Any) -> dict[str, bytes]:
        return {"findings.json": asked().facts.beers[0].name.encode()}

    patch.setattr(public.public_files, "public_files", leaking)


def real_names_on_the_screen(patch: pytest.MonkeyPatch) -> None:
    def leaking(known: Any, letter: str) -> str:
        return next(str(beer.name) for beer in known.beers if beer.letter == letter)

    patch.setattr(pour, "pouring_name", leaking)


def what_is_told(event: Event, _shown: dict[str, Any]) -> str:
    return f"<p>{TOLD if event.facts.informed else ''}</p>"


def lots_on_the_board(event: Event, _shown: dict[str, Any]) -> str:
    told = sorted(event.informed())
    return f"<p>Slips with words: {told}</p>"


ORDERS, NAMES = Changed.ORDERS, Changed.NAMES

LEAKS: dict[str, Leak] = {
    "a hidden field with the order": Leak(
        gives=ORDERS,
        plant=in_page(taster, of_the_card('<input type="hidden" name="set" value="{}">')),
        met=on_phones,
    ),
    "a data attribute with the order": Leak(
        gives=ORDERS, plant=in_page(taster, of_the_card('<i data-set="{}"></i>')), met=on_phones
    ),
    "a script's state with the order": Leak(
        gives=ORDERS,
        plant=in_page(taster, of_the_card('<script type="application/json">"{}"</script>')),
        met=on_phones,
    ),
    "a comment that names a beer": Leak(
        gives=NAMES, plant=in_page(taster, of_the_beer("<!-- A is {} -->")), met=on_phones
    ),
    "a text for screen readers that names a beer": Leak(
        gives=NAMES,
        plant=in_page(taster, of_the_beer('<img alt="cup of {}" src="/static/cup.svg">')),
        met=on_phones,
    ),
    "an order as a class": Leak(
        gives=ORDERS, plant=in_page(taster, of_the_card('<i class="k-{}"></i>')), met=on_phones
    ),
    "a header with the order": Leak(gives=ORDERS, plant=in_answer(with_header), met=on_phones),
    "a cookie with a count of As": Leak(gives=ORDERS, plant=in_answer(with_cookie), met=on_phones),
    "a page as long as a beer's name": Leak(
        gives=NAMES, plant=in_answer(as_long_as_the_name), met=on_phones
    ),
    "a draft's cookie with the order": Leak(
        gives=ORDERS, plant=a_draft_that_remembers, met=on_a_step
    ),
    "allergens of the first cup's beer": Leak(
        gives=ORDERS, plant=a_view(allergens_of_the_first_beer), met=on_phones
    ),
    "one question more to the database": Leak(
        gives=ORDERS, plant=a_view(one_question_more), met=on_phones
    ),
    "a refusal that names a beer": Leak(gives=NAMES, plant=a_refusal_that_names, met=on_a_refusal),
    "a steward's list by order": Leak(
        gives=ORDERS, plant=lists_by_order, met=on_the_stewards_pages
    ),
    "cups left of each beer": Leak(
        gives=ORDERS, plant=in_page(steward, cups_by_beer), met=on_the_stewards_pages
    ),
    "a beer's name on the steward's board": Leak(
        gives=NAMES, plant=in_page(steward, of_the_beer("<p>{}</p>")), met=on_the_stewards_pages
    ),
    "a beer's name on the public page": Leak(
        gives=NAMES, plant=in_page(public, of_the_beer("<p>{}</p>")), met=on_the_public_page
    ),
    "a result that is there before its time": Leak(
        gives=NAMES, plant=a_file_before_its_time, met=on_the_public_page
    ),
    "real names on a screen of cover names": Leak(
        gives=NAMES,
        plant=real_names_on_the_screen,
        met=on_the_pourers_screen,
        facts=Facts(helpers=Helpers.THREE),
    ),
    "a public page that says the sitting is told": Leak(
        gives=Changed.TOLD,
        plant=in_page(public, lambda event, _shown: f"<p>{event.facts.informed}</p>"),
        met=on_the_public_page,
    ),
    "what is told on the steward's list of trays": Leak(
        gives=Changed.TOLD,
        plant=in_page(steward, what_is_told),
        met=on_the_stewards_pages,
    ),
    "lots on the steward's board": Leak(
        gives=Changed.LOTS,
        plant=in_page(steward, lots_on_the_board),
        met=on_the_stewards_pages,
        facts=Facts(split=True),
    ),
    "a line in the log": Leak(gives=ORDERS, plant=a_view(a_line_in_the_log), met=in_the_log),
    "a column with the order": Leak(
        gives=ORDERS,
        plant=rows(lambda order, tray: replace(tray, note=order)),
        met=in_the_database,
    ),
    "places in the wave by order": Leak(
        gives=ORDERS,
        plant=rows(lambda order, tray: replace(tray, place=order.count("A"))),
        met=in_the_database,
    ),
}
