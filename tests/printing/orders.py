"""Orders for the printer: invented sittings with trays whose codes are drawn from a fixed seed."""

from collections.abc import Mapping
from dataclasses import replace
from hashlib import sha256
from random import Random
from typing import Any

from panel.core.comparison import Cup, Sitting, Tray
from panel.core.methods import METHODS
from panel.core.paper.card_format import CARD_FORMATS
from panel.core.paper.payload import TrayTokens, qr_address, tray_tokens
from panel.core.plan import Plan
from panel.core.questions import Question
from panel.core.side_questions import ballot_questions
from panel.printing.ballot_cards import CardAddresses, ballot_cards
from panel.printing.sheet import Order
from tests.core.invented import a_comparison

ADDRESS = "http://192.168.1.20:8000"
DIGEST = sha256(b"an invented seal").digest()


def some_trays(count: int, cups: int = 3, first: int = 1) -> tuple[Tray, ...]:
    """Trays with three-digit codes, none twice on a tray."""
    random = Random(17)
    pool = [str(number) for number in range(102, 988) if len(set(str(number))) == 3]
    return tuple(
        Tray(
            number=first + index,
            sitting="sitting00001",
            wave=index // 6 + 1,
            place=index % 6 + 1,
            cups=tuple(
                Cup(position, code)
                for position, code in enumerate(random.sample(pool, cups), start=1)
            ),
        )
        for index in range(count)
    )


def an_order(count: int = 6, cups: int = 3, method: str = "triangle", **changes: Any) -> Order:
    """An order for the invented comparison; changes are the comparison's fields."""
    known = METHODS[method]
    plan = Plan(
        method=method, attribute="bitter", stronger="B", drinks=known.beers, aim=known.aims[0]
    )
    comparison = a_comparison(**{"plan": plan, **changes})
    return Order(
        comparison=comparison, sitting=comparison.sittings[0], trays=some_trays(count, cups)
    )


def with_sitting(order: Order, **changes: Any) -> Order:
    """The order for a sitting that differs."""
    sitting: Sitting = replace(order.sitting, **changes)
    return replace(order, sitting=sitting)


def tokens_of(order: Order) -> Mapping[int, TrayTokens]:
    """The trays' secrets under a fixed instance key."""
    return {
        tray.number: tray_tokens(bytes(32), order.comparison.id, tray.number, tray.version)
        for tray in order.trays
    }


def addresses_of(order: Order, address: str = ADDRESS) -> CardAddresses:
    """Where the order's cards lead."""
    tokens = tokens_of(order)
    shown = address.partition("://")[2]
    return CardAddresses(
        codes={number: qr_address(address, one.token) for number, one in tokens.items()},
        short_codes={number: one.shown for number, one in tokens.items()},
        typed=shown,
        door=f"{address}/card",
        result=f"{shown}/{order.comparison.slug}",
    )


def questions_of(order: Order) -> tuple[Question, ...]:
    """The ballot's questions."""
    return ballot_questions(METHODS[order.comparison.plan.method], order.comparison.plan)


def cards(order: Order, format: str = "a6", address: str = ADDRESS, **more: Any) -> bytes:
    """The order's ballot cards."""
    return ballot_cards(
        order,
        more.pop("questions", None) or questions_of(order),
        format=CARD_FORMATS[format],
        addresses=addresses_of(order, address),
        digest=DIGEST,
        references=METHODS[order.comparison.plan.method].references,
        **more,
    )
