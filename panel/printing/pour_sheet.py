"""The pour sheet: how much of what, the rules of the jug, and the log of waves and containers.

For the pourer: it names the beers, or their cover names under triple blinding. What is written on
it (temperatures, times, containers) goes into the result as the evening's own facts.
"""

from collections.abc import Sequence
from itertools import count

from panel.core.comparison import Key, Tray
from panel.core.drawing import Anchor, Drawing, Face
from panel.core.message import Message, say, say_n
from panel.core.names import Blinding, Looks, SittingKind, Smell
from panel.core.quantities import (
    DISCARD_MILLILITRES,
    POUR_TO_SERVE_LIMIT_SECONDS,
    TAPPED_FROM_MILLILITRES,
    SittingQuantities,
    sitting_quantities,
)
from panel.core.smelling import LIDS
from panel.printing.blocks import (
    Block,
    as_large_as_fits,
    blanks,
    heading,
    stack,
    steps,
    words,
)
from panel.printing.pour_log import container_lines, jug_waves
from panel.printing.pour_mat import jugs_of
from panel.printing.sheet import (
    Order,
    below_head,
    degrees,
    drawing,
    head,
    numbers,
    pouring_name,
    waves_of,
)
from panel.printing.tables import Column, table

SHEET = say("Pour sheet")
AUDIENCE = say("for the pourer alone: keep out of sight")

TWO = 2
SPARE_LINES = 1
"""Empty lines in the container log beyond the containers reckoned."""


def pour_sheet(order: Order, key: Key) -> bytes:
    """The pour sheet of a sitting."""
    return order.drawn(pour_sheet_pages(order, key), SHEET, AUDIENCE)


def pour_sheet_pages(order: Order, key: Key) -> list[Drawing]:
    """Its pages: totals, rules, waves, containers."""
    page = order.page()
    first = below_head(page)
    places = ((number, first) for number in count())
    needs = quantities_of(order, key)

    def made(room: float) -> list[Block]:
        return [
            *_totals(order, needs, room),
            heading(order.speak(say("Before the first cup")), room),
            *steps([order.speak(one) for one in _before(order)], room),
            *_waves(order, key, room),
            *_containers(order, needs, room),
            *_afterwards(order, room),
        ]

    pages = stack(as_large_as_fits(made, first.width, first.height), places)
    top = head(order, page, SHEET)
    return [drawing(page, (*top, *shapes)) for _number, shapes in sorted(pages.items())]


def quantities_of(order: Order, key: Key) -> SittingQuantities:
    """What the printed trays of a sitting need, exactly."""
    spares = sum(tray.spare for tray in order.trays)
    orders = [key[tray.number] for tray in order.trays]
    return sitting_quantities(order.comparison, order.sitting, orders, spare_trays=spares)


def _totals(order: Order, needs: SittingQuantities, room: float) -> list[Block]:
    speak = order.speak
    serving = order.comparison.serving
    rows = [
        (
            pouring_name(order.comparison, beer.letter),
            str(beer.cups),
            str(beer.poured_millilitres),
            str(beer.spill_millilitres),
            str(beer.run_off_millilitres),
            str(beer.total_millilitres),
            str(beer.containers),
        )
        for beer in needs.beers
    ]
    columns = [
        Column(order.drink(), 0.30, what=say("the name of a beer, on the pour sheet")),
        Column(speak(say("Cups")), 0.09, Anchor.END),
        Column(speak(say("Poured, ml")), 0.13, Anchor.END),
        Column(speak(say("Spilled")), 0.11, Anchor.END),
        Column(speak(say("Run off")), 0.11, Anchor.END),
        Column(speak(say("In all, ml")), 0.12, Anchor.END, Face.BOLD),
        Column(
            speak(say("Containers")),
            0.14,
            Anchor.END,
            Face.BOLD,
        ),
    ]
    vessel = serving.vessel or speak(say("all cups alike"))
    facts = say_n(
        "%(ml)s ml in a cup, %(vessel)s: 1 tray and %(spares)s spare, %(cups)s cups; have "
        "%(vessels)s ready. Containers hold %(container)s ml.",
        "%(ml)s ml in a cup, %(vessel)s: %(count)s trays and %(spares)s spare, %(cups)s cups; "
        "have %(vessels)s ready. Containers hold %(container)s ml.",
        needs.trays,
        ml=serving.millilitres,
        vessel=vessel,
        spares=needs.spare_trays,
        cups=needs.cups,
        vessels=needs.vessels,
        container=serving.container_millilitres,
    )
    return [words(speak(facts), room), Block(3.0), *table(columns, rows, room)]


BY_EYE = say(
    "They can be told apart by eye: dark cups, small pours, dim light. A lid only if smell is not "
    "the question."
)

BY_EYE_UNDER_LIDS = say("They can be told apart by eye: dark cups, small pours, dim light.")


def _cups(order: Order) -> list[Message]:
    """Temperature, labels, looks and lids."""
    serving = order.comparison.serving
    said: list[Message] = []
    several = len(order.comparison.beers) > TWO
    if serving.temperature is not None and several:
        said.append(
            say(
                "All from one fridge or bath: %(degrees)s °C, 2 °C more or less, and within 1 °C "
                "of each other at every wave. Write down the coldest and the warmest.",
                degrees=degrees(serving.temperature),
            )
        )
    elif serving.temperature is not None:
        said.append(
            say(
                "Both from one fridge or bath: %(degrees)s °C, 2 °C more or less, and within 1 °C "
                "of each other at every wave. Write both down.",
                degrees=degrees(serving.temperature),
            )
        )
    said.append(
        say(
            "Labels go on dry cups, on the lower wall, before anything is poured. No pens on "
            "cups. All cups to the same line."
        )
    )
    smelled = order.comparison.plan.smell is not Smell.WITH_TASTE
    if serving.looks is not Looks.ALIKE:
        said.append(BY_EYE_UNDER_LIDS if smelled else BY_EYE)
    if smelled:
        said.append(LIDS)
    return said


def _before(order: Order) -> list[Message]:
    serving = order.comparison.serving
    tapped = serving.container_millilitres >= TAPPED_FROM_MILLILITRES
    said = _cups(order)
    said.append(
        say(
            "Open one container of each together, the first with the first, and log the pair. Run "
            "the first 100 to 200 ml off a tap before the first cup."
        )
        if tapped
        else say(
            "Open one container of each together, the first with the first, and log the pair. "
            "With sediment: pour out in one movement into the jug and leave the last "
            "%(ml)s ml. Never decant ahead of the wave.",
            ml=DISCARD_MILLILITRES,
        )
    )
    if order.sitting.kind is SittingKind.TABLE:
        said.append(
            say(
                "From the first cup of a wave to its last tray on the table: at most %(limit)s "
                "minutes. Then the next wave.",
                limit=POUR_TO_SERVE_LIMIT_SECONDS // 60,
            )
        )
    said.append(
        say(
            "A cup filled from the wrong jug, spilled or short: set the whole tray aside before "
            "it leaves the room, say only its number, and pour a spare tray."
        )
    )
    if order.comparison.blinding is Blinding.TRIPLE:
        said.append(say("You pour by cover names. Do not look under the covers, and do not taste."))
    else:
        said.append(
            say(
                "Bottles, caps, labels, mats and this sheet stay in this room. Do not talk with "
                "tasters or the steward until the last card is in."
            )
        )
    return said


def _waves(order: Order, key: Key, room: float) -> list[Block]:
    speak = order.speak
    letters = [beer.letter for beer in order.comparison.beers]
    if len(letters) > TWO:
        waves = [
            (
                _wave_name(order, wave, trays),
                numbers(trays),
                jugs_of(order.comparison, wave),
                {letter: _cups_of(letter, trays, key) for letter in letters},
            )
            for wave, trays in waves_of(order.trays).items()
        ]
        return jug_waves(order, waves, room)
    columns = [
        Column(speak(say("Wave")), 0.09),
        Column(speak(say("Trays")), 0.13),
        Column(speak(say("First jug")), 0.22, what=say("the name of a beer, on the pour sheet")),
        Column(speak(say("Cups, first and second")), 0.17, Anchor.MIDDLE),
        Column(speak(say("°C first")), 0.09, line=True),
        Column(speak(say("°C second")), 0.09, line=True),
        Column(speak(say("First cup at")), 0.105, line=True),
        Column(speak(say("Last tray at")), 0.105, line=True),
    ]
    rows = []
    for wave, trays in waves_of(order.trays).items():
        jugs = jugs_of(order.comparison, wave)
        in_turn = sorted(letters, key=lambda letter: jugs[letter])
        rows.append(
            (
                _wave_name(order, wave, trays),
                numbers(trays),
                pouring_name(order.comparison, in_turn[0]),
                " + ".join(str(_cups_of(letter, trays, key)) for letter in in_turn),
                "",
                "",
                "",
                "",
            )
        )
    return [heading(speak(say("Waves")), room), *table(columns, rows, room, line_height=6.6)]


def _wave_name(order: Order, wave: int, trays: Sequence[Tray]) -> str:
    if trays[0].spare:
        return order.speak(say("%(wave)s spare", wave=wave))
    return str(wave)


def _cups_of(letter: str, trays: Sequence[Tray], key: Key) -> int:
    return sum(key[tray.number].count(letter) for tray in trays)


def _containers(order: Order, needs: SittingQuantities, room: float) -> list[Block]:
    if len(needs.beers) > TWO:
        return container_lines(order, needs, SPARE_LINES, room)
    speak = order.speak
    pairs = max(beer.containers for beer in needs.beers) + SPARE_LINES
    columns = [Column(speak(say("Pair")), 0.07)]
    for beer in order.comparison.beers:
        named = pouring_name(order.comparison, beer.letter)
        columns += [
            Column(
                speak(say("%(beer)s: batch or bottle no.", beer=named)),
                0.235,
                line=True,
                what=say("the name of beer %(letter)s, on the pour sheet", letter=beer.letter),
            )
        ]
    columns += [
        Column(speak(say("Opened at")), 0.11, line=True),
        Column(speak(say("Run off, ml")), 0.11, line=True),
        Column(speak(say("Waves")), 0.09, line=True),
        Column(speak(say("Anything odd")), 0.15, line=True),
    ]
    rows = [(str(pair), *([""] * (len(columns) - 1))) for pair in range(1, pairs + 1)]
    return [heading(speak(say("Containers")), room), *table(columns, rows, room, line_height=7.2)]


def _afterwards(order: Order, room: float) -> list[Block]:
    speak = order.speak
    labels = [
        say("Trays set aside before they left the room, and why"),
        say("Anything that happened: foam, sediment, a warm container, a late wave"),
    ]
    return [
        heading(speak(say("What else happened")), room),
        *(blanks(speak(label), room) for label in labels),
    ]
