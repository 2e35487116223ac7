"""Leaks in sheets: in what is on them, in what their files say, in how they are called."""

from collections.abc import Callable
from dataclasses import replace
from types import ModuleType
from typing import Any

import pytest

from panel.core.drawing import Drawing, Ink, Text
from panel.core.names import Helpers
from panel.printing import ballot_cards, cup_labels, kit, pour_mat, sheet
from panel.printing import qr as qr_room
from panel.printing.ballot_cards import CardAddresses
from panel.printing.kit import Job
from panel.services import print_kit
from tests.blinding.artefacts import Changed
from tests.blinding.event import Facts
from tests.blinding.planting import Leak, asked, on_paper, order_of

Plant = Callable[[pytest.MonkeyPatch], None]


def first_beer() -> str:
    """The name of beer A at the event that is printed."""
    return asked().facts.beers[0].name


def orders() -> str:
    """The orders of its trays."""
    return "".join(order_of(asked(), tray) for tray in asked().trays())


def one_in_two() -> bool:
    """Something that follows from the orders and has two values."""
    return sum(place for place, beer in enumerate(orders()) if beer == "A") % 2 == 1


def in_file(room: ModuleType, change: Callable[[list[Drawing], dict[str, Any]], None]) -> Plant:
    """Pages and file facts changed on their way into a room's PDF: lists of drawings and the words
    that `write_pdf` is called with, both changed in place."""

    def plant(patch: pytest.MonkeyPatch) -> None:
        honest = room.write_pdf

        def leaking(pages: Any, **facts: Any) -> bytes:
            drawn = list(pages)
            change(drawn, facts)
            return honest(drawn, **facts)

        patch.setattr(room, "write_pdf", leaking)

    return plant


def title_that_names(_pages: list[Drawing], facts: dict[str, Any]) -> None:
    facts["title"] += f" ({first_beer()})"


def white_text(pages: list[Drawing], _facts: dict[str, Any]) -> None:
    hidden = Text(x=20, y=20, text=first_beer(), size=6, ink=Ink.PAPER)
    pages[0] = replace(pages[0], shapes=(hidden, *pages[0].shapes))


def text_under_what_is_painted(pages: list[Drawing], _facts: dict[str, Any]) -> None:
    mark = Text(x=20, y=20, text=".", size=1, ink=Ink.INK if one_in_two() else Ink.SOFT)
    pages[0] = replace(pages[0], shapes=(mark, *pages[0].shapes))


def painted_by_order(pages: list[Drawing], _facts: dict[str, Any]) -> None:
    """The same things at the same places: only the turn in which they are painted tells."""
    if one_in_two():
        pages[0] = replace(pages[0], shapes=pages[0].shapes[::-1])


def pages_by_beer(pages: list[Drawing], _facts: dict[str, Any]) -> None:
    if first_beer() > "M":
        pages.reverse()


def file_called_after_a_beer(patch: pytest.MonkeyPatch) -> None:
    def leaking(job: Job, name: str) -> str:
        return f"{job.order.comparison.beers[0].value.replace(' ', '-')}-{name}.pdf"

    patch.setattr(kit, "file_name", leaking)


def addresses_with(change: Callable[[int, str], str]) -> Plant:
    """Addresses in the cards' codes that follow from the tray's order."""

    def plant(patch: pytest.MonkeyPatch) -> None:
        honest = print_kit._addresses

        def leaking(*asked_for: Any) -> CardAddresses:
            fair = honest(*asked_for)
            key = asked().key()
            changed = {number: change(number, key[number]) for number in fair.codes}
            return replace(fair, codes={n: fair.codes[n] + changed[n] for n in fair.codes})

        patch.setattr(print_kit, "_addresses", leaking)

    return plant


def masks_by_order(patch: pytest.MonkeyPatch) -> None:
    def leaking(text: str, version: int, x: float, y: float, size: float) -> Any:
        mask = 2 if one_in_two() else 3
        with pytest.MonkeyPatch.context() as inner:
            inner.setattr(qr_room, "MASK", mask)
            qr_room._runs.cache_clear()
            made = qr_room.qr_code(text, version, x, y, size)
        qr_room._runs.cache_clear()
        return made

    patch.setattr(ballot_cards, "qr_code", leaking)


def labels_by_beer(patch: pytest.MonkeyPatch) -> None:
    honest = cup_labels.labels_in_print_order

    def leaking(trays: Any) -> Any:
        key = asked().key()
        return tuple(sorted(honest(trays), key=lambda label: key[label.number][label.position - 1]))

    patch.setattr(cup_labels, "labels_in_print_order", leaking)


def real_names_on_mats(patch: pytest.MonkeyPatch) -> None:
    def leaking(known: Any, letter: str) -> str:
        return next(str(beer.name) for beer in known.beers if beer.letter == letter)

    patch.setattr(pour_mat, "pouring_name", leaking)


def cards_of_the_informed(_pages: list[Drawing], facts: dict[str, Any]) -> None:
    facts["title"] += " *" if asked().facts.informed else "  "


def slips_on_cards(pages: list[Drawing], _facts: dict[str, Any]) -> None:
    told = min(asked().informed())
    mark = Text(x=20, y=20, text=f"{told}", size=1, ink=Ink.PAPER)
    pages[0] = replace(pages[0], shapes=(*pages[0].shapes, mark))


ORDERS, NAMES = Changed.ORDERS, Changed.NAMES
CARDS, LABELS, STEWARD = (on_paper(name) for name in ("ballot-cards", "cup-labels", "steward-page"))

LEAKS: dict[str, Leak] = {
    "a file's title that names a beer": Leak(
        gives=NAMES, plant=in_file(sheet, title_that_names), met=STEWARD
    ),
    "white text on labels": Leak(gives=NAMES, plant=in_file(cup_labels, white_text), met=LABELS),
    "a point in two blacks": Leak(
        gives=ORDERS, plant=in_file(cup_labels, text_under_what_is_painted), met=LABELS
    ),
    "labels painted in another turn": Leak(
        gives=ORDERS, plant=in_file(cup_labels, painted_by_order), met=LABELS
    ),
    "cards in another turn of pages": Leak(
        gives=NAMES, plant=in_file(ballot_cards, pages_by_beer), met=CARDS
    ),
    "a file called after a beer": Leak(gives=NAMES, plant=file_called_after_a_beer, met=LABELS),
    "the order in a card's address": Leak(
        gives=ORDERS, plant=addresses_with(lambda _number, order: order), met=CARDS
    ),
    "a larger code for some orders": Leak(
        gives=ORDERS,
        plant=addresses_with(lambda _number, order: "X" * 20 * (order[0] == "A")),
        met=CARDS,
    ),
    "the mask of a card's code": Leak(gives=ORDERS, plant=masks_by_order, met=CARDS),
    "labels printed beer by beer": Leak(gives=ORDERS, plant=labels_by_beer, met=LABELS),
    "real names on mats of cover names": Leak(
        gives=NAMES,
        plant=real_names_on_mats,
        met=on_paper("pour-mats"),
        facts=Facts(helpers=Helpers.THREE),
    ),
    "cards that know of an informed sitting": Leak(
        gives=Changed.TOLD, plant=in_file(ballot_cards, cards_of_the_informed), met=CARDS
    ),
    "lots on cards": Leak(
        gives=Changed.LOTS,
        plant=in_file(ballot_cards, slips_on_cards),
        met=CARDS,
        facts=Facts(split=True),
    ),
}
